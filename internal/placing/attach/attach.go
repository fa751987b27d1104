// Package attach joins what was spoken and photographed on site to the observations
// of the log: by what a person said, by the log's own column, by the file's name, or by
// its time.
//
//	joined := attach.Join(files, rows)
//	joined.Of[3] // the files that belong to row 3
//
// It never guesses between two rows: a file that could belong to several, or to
// none, stays with the push as a whole.
package attach

import (
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"golang.org/x/text/unicode/norm"

	"pushcue/timeline/words"
)

// A File is something recorded or photographed.
type File struct {
	Name  string    // as the job names it, forward slashes
	From  time.Time // when it was begun, on a clock near the log's; zero when unknown
	Until time.Time // when it ended; the same for a photo
	Named bool      // taken only where the log's column names it
	Whole bool      // a person said that it belongs to the push as a whole
	Omit  bool      // a person said that it isn't handed over
}

// A Row is one row of the log.
type Row struct {
	Number int
	Cell   string      // of the log's column for such files
	Given  []string    // names of files that a person gave to it: they belong to nothing else
	Kind   string      // the plain kind, "" when unknown
	At     []time.Time // when it was written or seen, on each clock that is known
}

// Joined is what Join came to.
type Joined struct {
	Of      map[int][]int  // indices of files, by row number
	Rest    []int          // files that belong to no one row
	Missing map[int]string // what a row's cell names and isn't there
}

// nearby is how far a file's time may lie from a row's: a note is spoken, and a photo
// taken, soon after something was seen (common practice, no published source).
const nearby = 2 * time.Minute

// Join joins files to rows.
func Join(files []File, rows []Row) Joined {
	j := Joined{Of: map[int][]int{}, Missing: map[int]string{}}
	taken, settled := map[int]bool{}, map[int]bool{}
	for i, f := range files {
		switch settled[i] = f.Omit || f.Whole; {
		case f.Omit:
			taken[i] = true
		case f.Whole:
			taken[i] = true
			j.Rest = append(j.Rest, i)
		}
		for _, r := range rows {
			if slices.Contains(r.Given, f.Name) {
				j.Of[r.Number] = append(j.Of[r.Number], i)
				taken[i], settled[i] = true, true
			}
		}
	}
	for _, r := range rows {
		found, missing := byCell(r.Cell, files)
		for _, f := range found {
			// A person's word stands above the log's; and a cell may name one file twice.
			if !settled[f] && !slices.Contains(j.Of[r.Number], f) {
				j.Of[r.Number] = append(j.Of[r.Number], f)
			}
			taken[f] = true
		}
		if missing != "" {
			j.Missing[r.Number] = missing
		}
	}
	for i, f := range files {
		if taken[i] || f.Named {
			continue
		}
		n, ok := byNumber(f.Name, rows)
		if !ok {
			n, ok = byWords(f.Name, rows)
		}
		if !ok {
			n, ok = byTime(f, rows)
		}
		if ok {
			j.Of[n] = append(j.Of[n], i)
		} else {
			j.Rest = append(j.Rest, i)
		}
	}
	return j
}

// byCell finds the files that a cell names: one name, or several parted by
// semicolons, bars, commas or line ends.
func byCell(cell string, files []File) (found []int, missing string) {
	cell = strings.TrimSpace(cell)
	if cell == "" {
		return nil, ""
	}
	if i := named(cell, files); i >= 0 {
		return []int{i}, ""
	}
	var gone []string
	for _, name := range strings.FieldsFunc(cell, func(r rune) bool { return strings.ContainsRune(";|,\n", r) }) {
		if name = strings.TrimSpace(name); name == "" {
			continue
		}
		if i := named(name, files); i >= 0 {
			found = append(found, i)
		} else {
			gone = append(gone, name)
		}
	}
	return found, strings.Join(gone, "; ")
}

// named is the file of a name as people write it: with or without its folder and its
// ending, in any case and any form of accents. -1 for none, or more than one.
func named(name string, files []File) int {
	want := plain(strings.ReplaceAll(name, `\`, "/"))
	for _, form := range []func(string) string{
		func(s string) string { return s },
		path.Base,
		func(s string) string { return strings.TrimSuffix(path.Base(s), path.Ext(s)) },
	} {
		at := -1
		for i, f := range files {
			if form(plain(f.Name)) != want && form(plain(f.Name)) != path.Base(want) {
				continue
			}
			if at >= 0 {
				return -1
			}
			at = i
		}
		if at >= 0 {
			return at
		}
	}
	return -1
}

func plain(s string) string { return strings.ToLower(norm.NFC.String(s)) }

// A name that begins with a row's number, or names a row: "3.wav", "03 roots.m4a",
// "3b.jpg", "row 3.wav". Recorders' own counters (IMG_0003, REC003, Recording 3) say
// nothing of rows; a number with a unit is a length.
var (
	leading  = regexp.MustCompile(`^0{0,2}([1-9][0-9]{0,2})[a-z]?([ _.-]|$)`)
	letters  = regexp.MustCompile(`(?:^|[ _.-])(\pL+)`)
	number   = regexp.MustCompile(`^[ _.-]*0{0,2}([1-9][0-9]{0,2})[a-z]?(?:[ _.-]|$)`)
	measure  = regexp.MustCompile(`^[0-9]+(?:[.,_][0-9]+)? ?(\pL+)(?:[ _.-]|$)`)
	twoTimes = regexp.MustCompile(`^[0-9]{1,2}[._-][0-9]{2}([._-]|$)`) // 10.07: a time of day or a length
)

func byNumber(name string, rows []Row) (int, bool) {
	stem := plain(strings.TrimSuffix(path.Base(name), path.Ext(name)))
	m := afterRow(stem)
	if m == nil && !isLength(stem) && !twoTimes.MatchString(stem) {
		m = leading.FindStringSubmatch(stem)
	}
	if m == nil {
		return 0, false
	}
	n, err := strconv.Atoi(m[1])
	for _, r := range rows {
		if err == nil && r.Number == n {
			return n, true
		}
	}
	return 0, false
}

// afterRow finds the number behind a word for a row.
func afterRow(stem string) []string {
	for _, at := range letters.FindAllStringSubmatchIndex(stem, -1) {
		if !words.IsRow(stem[at[2]:at[3]]) {
			continue
		}
		if m := number.FindStringSubmatch(stem[at[3]:]); m != nil {
			return m
		}
	}
	return nil
}

// isLength reports whether a name begins with a length. "3 in pipe" doesn't: "in" is a word
// more often than a unit.
func isLength(stem string) bool {
	m := measure.FindStringSubmatch(stem)
	return m != nil && words.FindUnit(m[1]) != "" && words.FindUnit(m[1]) != "in"
}

// byWords takes the kind that a name tells, where one row alone is of that kind.
func byWords(name string, rows []Row) (int, bool) {
	stem := strings.TrimSuffix(path.Base(name), path.Ext(name))
	text := strings.Map(func(r rune) rune {
		if strings.ContainsRune("_-.", r) || '0' <= r && r <= '9' {
			return ' '
		}
		return r
	}, stem)
	kind, ok := words.FindKind(strings.Join(strings.Fields(text), " "))
	if !ok || kind == "remark" {
		return 0, false
	}
	number, count := 0, 0
	for _, r := range rows {
		if r.Kind == kind {
			number = r.Number
			count++
		}
	}
	return number, count == 1
}

// byTime takes the row that lies nearest to the file's time, where it lies near and
// no other lies as near.
func byTime(f File, rows []Row) (int, bool) {
	if f.From.IsZero() {
		return 0, false
	}
	best, second, number := nearby+1, nearby+1, 0
	for _, r := range rows {
		d := apart(f, r)
		switch {
		case d < best:
			best, second, number = d, best, r.Number
		case d < second:
			second = d
		}
	}
	return number, best <= nearby && second > best
}

// apart is how far a row's time lies from the stretch that the file was made in, by
// the clock that agrees best.
func apart(f File, r Row) time.Duration {
	least := time.Duration(1<<63 - 1)
	for _, at := range r.At {
		d := time.Duration(0)
		switch {
		case at.Before(f.From):
			d = f.From.Sub(at)
		case at.After(f.Until):
			d = at.Sub(f.Until)
		}
		least = min(least, d)
	}
	return least
}

var stamp = regexp.MustCompile(`(?:^|[^0-9])(20[0-9]{2})[-_. ]?([01][0-9])[-_. ]?([0-3][0-9])[-_. T]+([0-2][0-9])[-_.:h ]?([0-5][0-9])[-_.: ]?([0-5][0-9])(?:[^0-9]|$)`)

// TimeInName reads the date and time that recorders and phones put into names, as in
// 20260302_100731.m4a, in the zone of the site.
func TimeInName(name string, zone *time.Location) (time.Time, bool) {
	m := stamp.FindStringSubmatch(path.Base(name))
	if m == nil {
		return time.Time{}, false
	}
	t, err := time.ParseInLocation("20060102150405", strings.Join(m[1:], ""), zone)
	return t, err == nil
}
