package fieldlog

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"

	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// What a spreadsheet does to a cell that it takes for something else. Seen in
// spreadsheets' own behaviour: common practice, no published source.
var (
	dayMonth   = regexp.MustCompile(`^(\d{1,2})[-. /]+(\pL{3,10})\.?$`)                       // 9-Mar, 09-mars, 9. Mrz
	monthYear  = regexp.MustCompile(`^(\pL{3,10})\.?[-. /]+(\d{1,4})$`)                       // Sep-03, Dez 40
	bareSerial = regexp.MustCompile(`^\d{5}$`)                                                // 46090
	scientific = regexp.MustCompile(`^[-+]?\d+(?:[.,]\d+)?[eE][+-]?\d{1,3}$`)                 // 1.2E+05
	sheetError = regexp.MustCompile(`^#(?:[\pL0-9/ ]+[?!]|#+|DIV/0!|¡?[\pL]+!)$`)             // #NAME?, ####
	dayPart    = regexp.MustCompile(`^0[.,]\d{3,17}$`)                                        // 0.421527778
	midnightly = regexp.MustCompile(`^(.*\d)[ tT]0{1,2}:00(?::00(?:[.,]0+)?)?(?: (\pL.*))?$`) // 2026-03-09 00:00:00
)

// spoilt tells what a spreadsheet has made of a cell, and what was likely typed: with
// mark between two numbers (9-3; 1.2; 10:07). what is empty for a cell that it left alone.
func spoilt(c cell, mark string, order timecode.DateOrder) (what words.Sentence, typed []string) {
	text := trim(c.text)
	switch {
	case sheetError.MatchString(text) || words.IsSheetError(text):
		return words.Tell("a spreadsheet shows an error here"), nil
	case scientific.MatchString(text) && c.number == "":
		if full := fromScientific(text); full != "" {
			typed = []string{full}
		}
		return words.Tell("a spreadsheet has shortened this number"), typed
	}
	pairs := typedPairs(c, text, order)
	if len(pairs) == 0 {
		return what, nil
	}
	for _, p := range pairs {
		second := strconv.Itoa(p[1])
		if mark == ":" {
			second = fmt.Sprintf("%02d", p[1])
		}
		typed = append(typed, strconv.Itoa(p[0])+mark+second)
	}
	return words.Tell("a spreadsheet has turned this into a date"), typed
}

// typedPairs takes a date apart into the two numbers that were likely typed, the
// likelier order first; none where the cell is no date.
func typedPairs(c cell, text string, order timecode.DateOrder) [][2]int {
	if m := monthYear.FindStringSubmatch(text); m != nil && c.iso == "" && words.FindMonth(m[1]) != 0 {
		year, _ := strconv.Atoi(m[2])
		return [][2]int{{words.FindMonth(m[1]), year}}
	}
	day, month, named := shownDay(c, text, order)
	if day == 0 || month == 0 {
		return nil
	}
	pairs := [][2]int{{day, month}, {month, day}}
	switch {
	case order == timecode.MDY:
		pairs[0], pairs[1] = pairs[1], pairs[0]
	case order != "" || day > 12 || named != "" && !words.MonthFirst(named):
		return pairs[:1]
	}
	if day == month {
		return pairs[:1]
	}
	return pairs
}

// shownDay is the day and month that a cell shows, and the month's name where it shows
// one; zeros where the cell is no date.
func shownDay(c cell, text string, order timecode.DateOrder) (day, month int, named string) {
	if c.iso != "" && c.serial >= 1 {
		day, month = isoDayMonth(c.iso)
		return day, month, ""
	}
	if bareSerial.MatchString(text) {
		day, month = serialDayMonth(text)
		return day, month, ""
	}
	if m := dayMonth.FindStringSubmatch(text); m != nil {
		day, _ = strconv.Atoi(m[1])
		return day, words.FindMonth(m[2]), m[2]
	}
	if m := midnightly.FindStringSubmatch(text); m != nil && (m[2] == "" || words.FindTimeWord(m[2]) == words.AM) {
		text = m[1]
	}
	if dates, err := timecode.ParseDate(text, order); err == nil {
		return dates[0].Day, int(dates[0].Month), ""
	}
	return 0, 0, ""
}

func serialDayMonth(text string) (day, month int) {
	n, _ := strconv.Atoi(text)
	at, err := excelize.ExcelDateToTime(float64(n), false)
	if err != nil || at.Year() < 2000 || at.Year() > 2049 {
		return 0, 0
	}
	return at.Day(), int(at.Month())
}

func isoDayMonth(iso string) (day, month int) {
	at, err := time.Parse("2006-01-02", iso[:min(len(iso), 10)])
	if err != nil {
		return 0, 0
	}
	return at.Day(), int(at.Month())
}

func fromScientific(text string) string {
	n, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
	if err != nil || math.Abs(n) > 1e9 || math.Abs(n) < 1e-6 {
		return ""
	}
	return strconv.FormatFloat(n, 'f', -1, 64)
}

// typedTime is the time of day that a sheet's fraction of a day was typed as, "" for
// other text: 0.421527778 is 10:07.
func typedTime(text string) string {
	if !dayPart.MatchString(text) {
		return ""
	}
	n, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
	if err != nil {
		return ""
	}
	at := time.Time{}.Add(time.Duration(math.Round(n*86400)) * time.Second)
	if at.Second() == 0 {
		return at.Format("15:04")
	}
	return at.Format("15:04:05")
}

// either lists what it may have been.
func either(texts []string) words.Sentence {
	parts := make([]words.Sentence, len(texts))
	for i, text := range texts {
		parts[i] = words.Plain("%s", text)
	}
	return words.Join(parts, words.Tell(" or "))
}
