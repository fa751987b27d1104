package timecode

import (
	"fmt"
	"regexp"
	"time"

	"pushcue/timeline/words"
)

// A DateOrder settles what 01/02/2026 means; "" leaves it open.
type DateOrder string

const (
	DMY DateOrder = "dmy"
	MDY DateOrder = "mdy"
	YMD DateOrder = "ymd"
)

// A Date is a civil date; the zero Date is none.
type Date struct {
	Year  int
	Month time.Month
	Day   int
}

// IsZero tells whether d is no date.
func (d Date) IsZero() bool { return d == Date{} }

// String writes d as ISO 8601 does; "" for none.
func (d Date) String() string {
	if d.IsZero() {
		return ""
	}
	return fmt.Sprintf("%04d-%02d-%02d", d.Year, d.Month, d.Day)
}

// At lists the instants at which a clock in zone shows since after midnight of d:
// one as a rule, two in the hour that comes twice, none in the hour that is skipped.
func (d Date) At(since time.Duration, zone *time.Location) []time.Time {
	// The civil time as if it were UTC; true instants lie an offset away, and all
	// offsets in force around it are tried.
	civil := time.Date(d.Year, d.Month, d.Day, 0, 0, 0, 0, time.UTC).Add(since)
	var found []time.Time
	for _, probe := range []time.Duration{-26 * time.Hour, 26 * time.Hour} {
		_, offset := civil.Add(probe).In(zone).Zone()
		t := civil.Add(-time.Duration(offset) * time.Second).In(zone)
		if _, really := t.Zone(); really != offset {
			continue
		}
		if len(found) == 0 || !found[0].Equal(t) {
			found = append(found, t)
		}
	}
	if len(found) == 2 && found[1].Before(found[0]) {
		found[0], found[1] = found[1], found[0]
	}
	return found
}

// ParseDate reads a date: 2026-03-02, 2/3/2026, 2.3.26, 2 March 2026, Mar 2, 2026.
// More than one comes back where the order of day and month stays open. Dots are
// read day first (common practice, no published source) unless order says otherwise.
func ParseDate(s string, order DateOrder) ([]Date, error) {
	body := tidy(s)
	for _, f := range dateForms {
		if m := f.whole.FindStringSubmatch(body); m != nil {
			return f.read(m[1:], order)
		}
	}
	return nil, words.Errorf("not a date: write it as 2026-03-02")
}

// A dateForm is one way to write a date: its pattern and what its groups mean.
type dateForm struct {
	whole, front, back *regexp.Regexp
	groups             int
	read               func(groups []string, order DateOrder) ([]Date, error)
}

const (
	weekday   = `(?:\pL{2,10}\.?,? )??`
	monthName = `(\pL{3,10})`
	ordinal   = `(\pL{1,2}|\.)??`
	of        = `(?:(\pL{2,3}) )??`
)

var dateForms = []dateForm{
	newDateForm(`(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})`, 3, readYearFirst),
	newDateForm(`(\d{4})(\d{2})(\d{2})`, 3, readYearFirst),
	newDateForm(`(\d{1,2})([-/.])(\d{1,2})[-/.](\d{4}|\d{2})`, 4, readNumbers),
	newDateForm(weekday+`(\d{1,2})`+ordinal+`(?: | ?- ?|/)?`+of+monthName+`\.?(?: ?- ?|,? |/)`+of+`(\d{4}|\d{2})`, 6, readDayName),
	newDateForm(weekday+monthName+`\.? (\d{1,2})`+ordinal+`,? (\d{4})`, 4, readNameDay),
}

func newDateForm(pattern string, groups int, read func([]string, DateOrder) ([]Date, error)) dateForm {
	return dateForm{
		whole:  regexp.MustCompile(`^` + pattern + `$`),
		front:  regexp.MustCompile(`^` + pattern + `(?:,? ?t ?|,? )(.+)$`),
		back:   regexp.MustCompile(`^(.+?),? ` + pattern + `$`),
		groups: groups,
		read:   read,
	}
}

func readYearFirst(g []string, _ DateOrder) ([]Date, error) {
	return oneDate(atoi(g[0]), atoi(g[1]), atoi(g[2]))
}

// readDayName reads day, ordinal, of, month, of, year.
func readDayName(g []string, _ DateOrder) ([]Date, error) {
	month := words.FindMonth(g[3])
	if month == 0 {
		return nil, words.Errorf("not a date: %s is no month", words.Quoted(g[3]))
	}
	if g[1] == "" && words.IsOrdinal(g[2]) { // "1er mars" fits the pattern both ways
		g[2] = ""
	}
	if g[1] != "" && g[1] != "." && !words.IsOrdinal(g[1]) || g[2] != "" && !words.IsDateOf(g[2]) || g[4] != "" && !words.IsDateOf(g[4]) {
		return nil, words.Errorf("not a date: write it as 2026-03-02")
	}
	return oneDate(fullYear(g[5]), month, atoi(g[0]))
}

// readNameDay reads month, day, ordinal, year.
func readNameDay(g []string, order DateOrder) ([]Date, error) {
	return readDayName([]string{g[1], g[2], "", g[0], "", g[3]}, order)
}

// readNumbers reads three numbers of which the order may be open.
func readNumbers(g []string, order DateOrder) ([]Date, error) {
	a, dots, b, c := atoi(g[0]), g[1] == ".", atoi(g[2]), g[3]
	if order == YMD && len(c) == 2 {
		return oneDate(fullYear(g[0]), b, atoi(c))
	}
	year := fullYear(c)
	dmy, dmyErr := oneDate(year, b, a)
	mdy, mdyErr := oneDate(year, a, b)
	switch {
	case order == DMY || dots && order != MDY && dmyErr == nil:
		return dmy, dmyErr
	case order == MDY:
		return mdy, mdyErr
	case dmyErr != nil && mdyErr != nil:
		return nil, dmyErr
	case dmyErr != nil:
		return mdy, nil
	case mdyErr != nil || a == b:
		return dmy, nil
	}
	return append(dmy, mdy...), nil
}

func oneDate(year, month, day int) ([]Date, error) {
	switch {
	case year < 1900 || year > 2199:
		return nil, words.Errorf("not a date: the year %d", year)
	case month < 1 || month > 12:
		return nil, words.Errorf("not a date: %d is no month", month)
	case day < 1 || day > time.Date(year, time.Month(month)+1, 0, 0, 0, 0, 0, time.UTC).Day():
		return nil, words.Errorf("not a date: %s %d has no day %d", time.Month(month), year, day)
	}
	return []Date{{year, time.Month(month), day}}, nil
}

// fullYear reads two digits as 1970 to 2069.
func fullYear(digits string) int {
	year := atoi(digits)
	switch {
	case len(digits) > 2:
		return year
	case year < 70:
		return 2000 + year
	}
	return 1900 + year
}
