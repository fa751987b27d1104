package wording

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"pushcue/timeline"
	"pushcue/timeline/timecode"
)

// ClockTime is an observation's true time of day alone, for a column: "10:02:15", with
// the days since the recording began ("+1d") where it isn't the same day, and "?" where
// nobody has checked the clock; "" where the time isn't known.
func (w *Wording) ClockTime(o *timeline.Observation) string {
	if o.TrueTime == nil {
		return ""
	}
	text := o.TrueTime.Format(time.TimeOnly)
	if first, known := w.trueTime(0); known {
		if days := dayNumber(*o.TrueTime) - dayNumber(first); days != 0 {
			text += fmt.Sprintf("%+dd", days)
		}
	}
	if w.t.TimeSource(o.Video).Unchecked() {
		text += "?"
	}
	return text
}

func dayNumber(t time.Time) int {
	y, m, d := t.Date()
	return int(time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix() / 86400)
}

// Half is a ± with its unit, never smaller than it is: "2.6 s", "31 s", "20 min".
func (w *Wording) Half(d time.Duration) string {
	switch {
	case d < 10*time.Second:
		return w.tenth(d) + " s"
	case d < 10*time.Minute:
		return fmt.Sprintf("%.0f s", math.Ceil(d.Seconds()))
	}
	return fmt.Sprintf("%.0f min", math.Ceil(d.Minutes()))
}

// Around is an observation's ± with its unit, or what it is to either side where that
// is lopsided: "2.6 s", "-28 +1.2 s".
func (w *Wording) Around(o *timeline.Observation) string {
	before, after, lopsided := o.Lopsided()
	if !lopsided || max(before, after) >= 10*time.Minute {
		return w.Half(o.Uncertainty)
	}
	number := func(d time.Duration) string {
		text, _, _ := strings.Cut(w.Half(d), " s")
		return text
	}
	return "-" + number(before) + " +" + number(after) + " s"
}

// tenth is a length of time in seconds, rounded up to a tenth.
func (w *Wording) tenth(d time.Duration) string {
	const step = 100 * time.Millisecond
	tenths := (d + step - 1) / step
	return w.decimal(strconv.FormatFloat(float64(tenths)/10, 'f', 1, 64))
}

func (w *Wording) decimal(number string) string {
	if w.l.Decimal == 0 {
		return number
	}
	return strings.Replace(number, ".", string(w.l.Decimal), 1)
}

// LogHeader names the columns that LogCells adds to a log.
func (w *Wording) LogHeader() []string {
	when := w.l.Say("aligned-true")
	if _, some := w.uncheckedTime(); some {
		when = w.l.Say("time-unchecked", when)
	}
	where := strings.Replace(w.l.Say("aligned-distance"), "(m)", "("+string(w.t.Sheet.Job.Units)+")", 1) // the words say metres
	return []string{"#", w.l.Say("aligned-video"), when, where, w.l.Say("aligned-plusminus")}
}

// LogCells are what placing found for a row of the log, as columns of a spreadsheet:
// the observation's number, moment of the recording, true time, distance and ±, the last
// two as numbers with this decimal mark. Without a place (nil) they are empty.
func (w *Wording) LogCells(o *timeline.Observation, decimal rune) []string {
	cells := make([]string, len(w.LogHeader()))
	if o == nil {
		return cells
	}
	as := *w
	language := *w.l
	language.Decimal = decimal
	as.l = &language
	cells[0] = strconv.Itoa(o.Number)
	cells[1] = o.Video.Format(1)
	if o.TrueTime != nil {
		cells[2] = timecode.FormatTrue(*o.TrueTime)
	}
	if o.Distance != nil {
		cells[3], _, _ = strings.Cut(as.Length(*o.Distance), " ")
		if w.approximate(o) {
			cells[3] = w.About(cells[3])
		}
	}
	cells[4] = as.tenth(o.Uncertainty)
	return cells
}
