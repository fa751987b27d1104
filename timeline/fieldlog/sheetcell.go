package fieldlog

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"

	"pushcue/timeline/words"
)

var (
	shownDate   = regexp.MustCompile(`^\S*\d{1,4}[-/. ]+(?:\d{1,2}|\pL{3,10}\.?)(?:[-/. ,]+\d{1,4})?\.?$`)
	shownMonth  = regexp.MustCompile(`^(\pL{3,10})\.?[-/. ]\d{1,4}$`)
	shownSecond = regexp.MustCompile(`:\d{2}:\d{2}`)
	shownNumber = regexp.MustCompile(`^[-+]?[\d.,' \x{a0}]+$`)
	shownUnit   = regexp.MustCompile(`^[-+]?[\d.,]+[ \x{a0}]?(\pL{1,3}|'|")$`)
)

// sheetCell is one cell of a sheet, from what it holds and how the sheet shows it.
// Dates and times are numbers in a sheet; their format alone tells them apart. The
// number is days since the sheet's epoch (ECMA-376 part 1, 18.17.4; clause from memory).
func sheetCell(held, shown string, epoch1904 bool) cell {
	c := cell{text: shown}
	n, err := strconv.ParseFloat(held, 64)
	if err != nil || math.IsInf(n, 0) || math.IsNaN(n) {
		return c
	}
	if held != shown && n >= 0 && n < 2958466 && !rounds(shown, n) && looksLikeTime(shown) { // to 31 December 9999
		if at, err := excelize.ExcelDateToTime(n, epoch1904); err == nil {
			c.serial = n
			c.iso = isoText(n, at.Round(time.Millisecond), shown)
			return c
		}
	}
	c.number = plainNumber(n)
	if held == shown || shownNumber.MatchString(shown) {
		c.text = tidyNumber(c.number, shown)
	} else if m := shownUnit.FindStringSubmatch(shown); m != nil && words.FindUnit(m[1]) != "" {
		c.unit = m[1]
	}
	return c
}

// tidyNumber keeps the zeros that the sheet shows and drops the digits that are only
// binary dust: 12.4, not 12.400000000000001.
func tidyNumber(number, shown string) string {
	a, errA := strconv.ParseFloat(number, 64)
	b, errB := strconv.ParseFloat(shown, 64)
	if errA == nil && errB == nil && math.Abs(a-b) < 1e-9*math.Max(1, math.Abs(a)) && len(shown) < 14 {
		return shown
	}
	return number
}

func plainNumber(n float64) string { return strconv.FormatFloat(tidy(n), 'f', -1, 64) }

// tidy is n without the digits that only a computer's arithmetic gave it.
func tidy(n float64) float64 {
	rounded, _ := strconv.ParseFloat(strconv.FormatFloat(n, 'g', 12, 64), 64)
	return rounded
}

// rounds tells whether shown is n with fewer digits: 12.4, which could also be a date
// without its year.
func rounds(shown string, n float64) bool {
	v, err := strconv.ParseFloat(shown, 64)
	if err != nil {
		return false
	}
	_, digits, _ := strings.Cut(shown, ".")
	return math.Abs(v-n) <= 0.5*math.Pow10(-len(digits))+1e-9
}

func looksLikeTime(shown string) bool {
	if strings.Contains(shown, ":") {
		return true
	}
	if m := shownMonth.FindStringSubmatch(shown); m != nil {
		return words.FindMonth(m[1]) != 0
	}
	return shownDate.MatchString(shown)
}

// isoText writes a sheet's date and time with as much of the time as the sheet shows
// or the value has.
func isoText(serial float64, at time.Time, shown string) string {
	clock := ""
	if strings.Contains(shown, ":") {
		clock = at.Format("15:04")
		switch {
		case at.Nanosecond() != 0:
			clock = strings.TrimRight(at.Format("15:04:05.000"), "0")
		case at.Second() != 0 || shownSecond.MatchString(shown):
			clock = at.Format("15:04:05")
		}
	}
	if serial < 1 {
		return clock
	}
	return strings.TrimSpace(at.Format("2006-01-02") + " " + clock)
}
