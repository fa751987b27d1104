package fieldlog

import (
	"slices"
	"strings"
	"unicode"

	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// Limits of what is taken for a log. They are far beyond any push, and keep
// a hostile or mistaken file from filling the memory.
const (
	mostBytes   = 64 << 20
	mostCell    = 1 << 20
	mostLine    = 8 << 20
	mostRows    = 1_000_000
	mostColumns = 1024
)

// A table is a log before its columns have a meaning: the header row and all
// that stands below it.
type table struct {
	charset   string
	separator rune
	sheet     string
	above     []string
	header    record
	records   []record
	faults    fault.List
	notes     []words.Sentence
}

// A record is one row that isn't blank.
type record struct {
	line  int // where it starts
	cells []cell
}

// A cell is one cell as shown. Sheets tell more about some than their text.
type cell struct {
	text   string
	number string  // a sheet's number in plain form, "" for text and dates
	unit   string  // a unit that a sheet's number format shows behind the number
	iso    string  // a sheet's date, time or both, in a form with one reading
	serial float64 // a sheet's number behind iso
}

// at is the cell of a column; rows may be shorter than the header.
func (r record) at(column int) cell {
	if column < 0 || column >= len(r.cells) {
		return cell{}
	}
	return r.cells[column]
}

// trim takes blanks of every width off both ends, and the apostrophe with which
// spreadsheets mark a cell as text.
func trim(s string) string {
	s = strings.TrimFunc(s, blank)
	if rest, ok := strings.CutPrefix(s, "'"); ok && rest != "" {
		return strings.TrimFunc(rest, blank)
	}
	return s
}

func blank(r rune) bool {
	return unicode.IsSpace(r) || r == '\ufeff' || r == '\u200b' || r == '\u200e' || r == '\u200f'
}

func (c cell) blank() bool { return strings.TrimFunc(c.text, blank) == "" }

func (r record) blank() bool {
	return !slices.ContainsFunc(r.cells, func(c cell) bool { return !c.blank() })
}

// ruled tells a line of dashes, as tables drawn with characters have.
func (r record) ruled() bool {
	seen := false
	for _, c := range r.cells {
		seen = seen || !c.blank()
		if strings.Trim(c.text, "-=_:+ \t") != "" {
			return false
		}
	}
	return seen
}

// A scorer tells how much a row looks like the header: 0 is not at all.
type scorer func(record) int

// headerScore counts the cells of a row that are header words. A row that tells
// where observations lie counts for more than one that doesn't.
func headerScore(meanings func(header string) []string) scorer {
	return func(r record) int {
		known, placed := 0, false
		for _, c := range r.cells {
			for i, m := range meanings(c.text) {
				if i == 0 {
					known++
				}
				placed = placed || slices.Contains([]string{"time", "elapsed", "video", "distance"}, m)
			}
		}
		if placed {
			known *= 2
		}
		return known
	}
}

// headerMeanings is what a header word can mean, the job's own words first.
func (o Options) headerMeanings(header string) []string {
	for name, word := range o.Columns {
		if words.Same(word, header) {
			return []string{name}
		}
	}
	if len(header) > 200 {
		return nil
	}
	return words.FindColumn(header)
}

// deepest is how far down a header is looked for.
const deepest = 100

// headerAt finds the header: the row with the most header words, the first of
// several; -1 where no row has enough.
func headerAt(records []record, score scorer) (at, best int) {
	at, best = -1, 1
	for i, r := range records[:min(len(records), deepest)] {
		if s := score(r); s > best {
			at, best = i, s
		}
	}
	return at, best
}

// from cuts the rows into what stands above the header, the header, and the data.
func (t *table) from(records []record, header int) {
	for _, r := range records[:header] {
		var parts []string
		for _, c := range r.cells {
			if !c.blank() {
				parts = append(parts, strings.TrimFunc(c.text, blank))
			}
		}
		t.above = append(t.above, strings.Join(parts, " "))
	}
	t.header = records[header]
	t.records = records[header+1:]
}
