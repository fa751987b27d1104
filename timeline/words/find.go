package words

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// Kinds are the keys of the built-in kinds, in the order in which lists show them.
func Kinds() []string {
	return []string{
		"roots", "crack", "fracture", "broken", "hole", "collapse",
		"offset-joint", "open-joint", "out-of-round", "belly", "standing-water",
		"grease", "scale", "settled-debris", "obstruction", "infiltration", "wear",
		"connection", "intruding-connection", "faulty-connection",
		"bend", "size-change", "material-change", "lining", "patch", "vermin",
		"line-start", "line-end", "could-go-no-further", "crossing-utility", "remark",
	}
}

// Urgencies are the urgencies from none to the most pressing.
func Urgencies() []string { return []string{"none", "watch", "repair", "at once"} }

// Columns are the meanings a log's column can have. "elapsed" is a time counted
// from the log's own zero, "date" stands beside "time", "code" is the firm's code
// beside "what", and "slope" is a meaning that only has to be told from urgency.
func Columns() []string {
	return []string{
		"time", "elapsed", "date", "video", "distance", "to", "what", "code", "clock",
		"urgency", "note", "size", "depth", "spoken", "photo", "slope",
	}
}

// FindKind returns the built-in kind that text names in any of the languages:
// the word itself, a plural or a common variant, alone or described further
// ("roots, heavy"; "crack at joint"). Text that merely holds such a word ("no
// roots") names none.
func FindKind(text string) (key string, ok bool) {
	w := fold(text)
	if key, ok = index().kinds[w]; ok {
		return key, true
	}
	if i := strings.IndexAny(text, ",;:(/"); i > 0 {
		if key, ok = index().kinds[fold(text[:i])]; ok {
			return key, true
		}
	}
	fields := strings.Fields(w)
	for n := len(fields) - 1; n > 0; n-- {
		if key, ok = index().kinds[strings.Join(fields[:n], " ")]; ok {
			if _, joins := index().find(joiner, fields[n]); joins {
				return key, true
			}
			break
		}
	}
	return "", false
}

// FindUrgency returns the urgency (see Urgencies) that text names in any of the
// languages.
func FindUrgency(text string) (urgency string, ok bool) {
	urgency, ok = index().urgency[fold(text)]
	return urgency, ok
}

// FindColumn returns what a log's header word can mean, in any of the languages;
// a unit behind it ("Distance (m)") is left aside. None: the word isn't known.
// Several: only the rest of the log or a person can tell.
func FindColumn(header string) []string {
	if m := index().columns[fold(header)]; m != nil {
		return slices.Clone(m)
	}
	return slices.Clone(index().columns[fold(withoutUnit(header))])
}

// FindMonth returns the month, 1 to 12, whose name or abbreviation text is in any
// of the languages; 0 if it is none.
func FindMonth(text string) int {
	n, _ := index().find(month, text)
	at, _ := strconv.Atoi(n)
	return at
}

// MonthFirst reports whether text names a month in a language whose spreadsheets may take
// the first of two numbers for a month.
func MonthFirst(text string) bool {
	return index().has(monthFirst, text)
}

// FindWall returns the clock position, 12 or 6, of a word for a place on the
// pipe's wall ("crown", "Sohle"); 0 if it is none.
func FindWall(text string) float64 {
	switch place, _ := index().find(clock, text); place {
	case "crown":
		return 12
	case "invert":
		return 6
	}
	return 0
}

// IsClockFiller reports whether text is a word in a clock cell that says nothing ("at",
// "o'clock").
func IsClockFiller(text string) bool {
	place, _ := index().find(clock, text)
	return place == "filler"
}

// FindUnit returns the unit of length (m, cm, mm, ft, in) that text names in any of the
// languages, or "other" for a unit that no length is read in, such as yards; "" if it is
// none. A dot behind an abbreviation is left aside.
func FindUnit(text string) string {
	u, _ := index().find(unit, text)
	return u
}

// FindHeaderUnit returns the unit of length that a header word names together with the
// length ("meterage", "footage"); "" if it names none.
func FindHeaderUnit(text string) string {
	u, _ := index().find(headerUnit, text)
	return u
}

// IsLead reports whether text is a word before the first end of a stretch ("from").
func IsLead(text string) bool {
	return index().has(lead, text)
}

// IsTo tells whether text is a word that stands between the two ends of a stretch
// ("to", "bis", "à").
func IsTo(text string) bool {
	return index().has(to, text)
}

// IsRow reports whether text is a word before a row's number in a file's name ("row").
func IsRow(text string) bool {
	return index().has(row, text)
}

// IsSheetError reports whether text is what a spreadsheet shows for an error ("#N/A").
func IsSheetError(text string) bool {
	return index().has(sheetError, text)
}

// FindAddressed returns the first form of address in text, in any of the languages, with
// the name behind it ("Mrs Ashdale"); "" where nobody is named so.
func FindAddressed(text string) string {
	if m := index().addressed.FindStringSubmatch(text); m != nil {
		return m[1]
	}
	return ""
}

// A table is a part of the vocabulary.
type table int

const (
	to table = iota
	lead
	joiner
	list // header words of a firm's list
	month
	monthFirst
	clock
	unit
	headerUnit
	row
	sheetError
	timeUnit
	timeWord
	timeBefore
	timeMark
	dateOf
	dateOrdinal
)

// A lookup finds what a word of any language means.
type lookup struct {
	kinds, urgency map[string]string
	columns        map[string][]string
	tables         map[table]map[string]string // what each word means, by key
	addressed      *regexp.Regexp              // a form of address and the name behind it
	zones          map[string]int              // letters of time zones, in seconds east of UTC
}

// key is the word by which a table is searched: folded, or as it is where it has no letters.
func key(text string) string {
	if k := fold(text); k != "" {
		return k
	}
	return strings.TrimSpace(text)
}

func (x *lookup) find(t table, text string) (meaning string, found bool) {
	meaning, found = x.tables[t][key(text)]
	return meaning, found
}

// has reports whether text stands in a table, whatever it means there.
func (x *lookup) has(t table, text string) bool {
	_, found := x.find(t, text)
	return found
}

func (x *lookup) add(t table, meaning string, all ...string) {
	if x.tables[t] == nil {
		x.tables[t] = map[string]string{}
	}
	for _, w := range all {
		x.tables[t][key(w)] = meaning
	}
}

func (x *lookup) addEach(t table, all map[string][]string) {
	for meaning, ws := range all {
		x.add(t, meaning, ws...)
	}
}

func indexOf(l *library) *lookup {
	x := &lookup{kinds: map[string]string{}, urgency: map[string]string{}, columns: map[string][]string{}, tables: map[table]map[string]string{}, zones: map[string]int{}}
	var addresses []string
	for _, tag := range l.tags {
		b := &l.languages[tag].book
		for _, form := range b.Address {
			addresses = append(addresses, regexp.QuoteMeta(form))
		}
		addTerms(x.kinds, b.Kinds)
		addTerms(x.urgency, b.Urgency)
		for meaning, headers := range b.Columns {
			for _, h := range headers {
				x.mean(h, meaning)
			}
		}
		for h, meanings := range b.Open {
			for _, m := range meanings {
				x.mean(h, m)
			}
		}
		for i := range min(len(b.Months), len(b.Months3)) {
			names := append(strings.Fields(b.Months3[i]), b.Months[i])
			x.add(month, strconv.Itoa(i+1), names...)
			if b.MonthFirst {
				x.add(monthFirst, "", names...)
			}
		}
		x.add(to, "", b.To...)
		x.add(lead, "", b.Leads...)
		x.add(joiner, "", b.Joiners...)
		x.add(list, "", b.List...)
		x.add(row, "", b.Rows...)
		x.add(sheetError, "", b.Errors...)
		x.addEach(clock, b.Clock)
		x.addEach(unit, b.Units)
		x.addEach(headerUnit, b.Headers)
		x.addTimes(&b.Time)
	}
	x.addressed = regexp.MustCompile(`(?:^|[^\pL])((?:` + strings.Join(addresses, "|") + `)\.?[ \x{a0}]+\p{Lu}[\p{L}’'-]*(?:[ \x{a0}]\p{Lu}[\p{L}’'-]+)?)`)
	for _, key := range Kinds() { // a log may hold our own keys
		x.kinds[fold(key)] = key
	}
	for _, name := range Columns() {
		x.mean(name, name)
	}
	return x
}

func addTerms(m map[string]string, terms map[string]term) {
	for key, t := range terms {
		m[fold(t.Show)] = key
		for _, w := range t.Also {
			m[fold(w)] = key
		}
	}
}

func (x *lookup) mean(header, meaning string) {
	h := fold(header)
	if !slices.Contains(x.columns[h], meaning) {
		x.columns[h] = append(x.columns[h], meaning)
		slices.SortFunc(x.columns[h], func(a, b string) int {
			return slices.Index(Columns(), a) - slices.Index(Columns(), b)
		})
	}
}

// fold makes words comparable: lower case, no accents, letters and digits parted
// by single blanks, so that "Piège à  graisse" and "piege a graisse" are the same.
func fold(s string) string {
	var b strings.Builder
	gap := false
	for _, r := range norm.NFKD.String(s) {
		switch {
		case unicode.Is(unicode.Mn, r):
		case r == '\'' || r == '’':
			gap = true
		case unicode.IsLetter(r) || unicode.IsDigit(r) || r == '%' || r == '#':
			if gap && b.Len() > 0 {
				b.WriteByte(' ')
			}
			gap = false
			for _, l := range sharpS(unicode.ToLower(r)) {
				b.WriteRune(l)
			}
		default:
			gap = true
		}
	}
	return b.String()
}

func sharpS(r rune) string {
	if r == 'ß' {
		return "ss"
	}
	return string(r)
}

// withoutUnit drops what stands in brackets, or after the last blank where that
// is a unit: "Depth (m)", "Dist. [ft]", "Distance m".
func withoutUnit(header string) string {
	if i := strings.IndexAny(header, "([{"); i > 0 {
		return header[:i]
	}
	w := strings.FieldsFunc(header, func(r rune) bool { return r == '_' || unicode.IsSpace(r) })
	if last := w[max(len(w)-1, 0):]; len(w) > 1 && (FindUnit(last[0]) != "" || slices.Contains([]string{"s", "h"}, FindTimeUnit(last[0]))) {
		return strings.Join(w[:len(w)-1], " ")
	}
	return header
}

// Same tells whether two words are the same but for case, accents and marks.
func Same(a, b string) bool { return a == b || fold(a) == fold(b) && fold(a) != "" }

// IsListWords tells whether a header word of a firm's list of kinds stands over the
// words that the customer reads.
func IsListWords(header string) bool {
	_, found := index().find(list, header)
	return found
}

// KindWords are the words shown for the built-in kinds and their variants, in all
// languages, sorted.
func KindWords() []string {
	var ws []string
	for _, tag := range Tags() {
		for _, t := range all()[tag].book.Kinds {
			ws = append(append(ws, t.Show), t.Also...)
		}
	}
	slices.Sort(ws)
	return slices.Compact(ws)
}
