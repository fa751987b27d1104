package words

import (
	"fmt"
	"strconv"
	"strings"
	"time"
)

// Date is the civil date of t in t's zone, month in letters, since 02/03/2026 is
// February to some and March to others: "2 Mar 2026".
func (l *Language) Date(t time.Time) string {
	return strings.NewReplacer(
		"{d}", strconv.Itoa(t.Day()),
		"{month}", l.book.Months[t.Month()-1],
		"{yyyy}", fmt.Sprintf("%04d", t.Year()),
	).Replace(l.book.Date)
}

// DateTime is date, time to the second and offset from UTC of t, in t's zone:
// "2 Mar 2026 10:07:31 UTC+1". The second is the one that runs, not the nearest,
// as a clock on the wall shows it.
func (l *Language) DateTime(t time.Time) string {
	return l.Date(t) + " " + t.Format("15:04:05") + " " + Zone(t)
}

// Zone is t's offset from UTC: "UTC", "UTC+1", "UTC−3:30".
func Zone(t time.Time) string {
	_, s := t.Zone()
	if s == 0 {
		return "UTC"
	}
	sign := "+"
	if s < 0 {
		sign, s = "−", -s
	}
	if m := s / 60 % 60; m != 0 {
		return fmt.Sprintf("UTC%s%d:%02d", sign, s/3600, m)
	}
	return fmt.Sprintf("UTC%s%d", sign, s/3600)
}

// Clock is a clock position, or a span where to differs from from, both in hours
// 0.5 … 12 in steps of a half: "at 3 o'clock", "from 9 to 3 o'clock".
func (l *Language) Clock(from, to float64) string {
	if from == to {
		return l.Say("clock", ClockHour(from))
	}
	return l.Say("clock-span", ClockHour(from), ClockHour(to))
}

// ClockHour is one clock position as people say it: 3 is "3", 3.5 "3:30", 0.5 "12:30".
func ClockHour(hour float64) string {
	whole := int(hour)
	half := hour != float64(whole)
	if whole == 0 {
		whole = 12
	}
	if half {
		return strconv.Itoa(whole) + ":30"
	}
	return strconv.Itoa(whole)
}
