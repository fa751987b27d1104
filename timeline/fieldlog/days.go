package fieldlog

import (
	"fmt"
	"strings"
	"time"

	"pushcue/timeline/timecode"
)

const (
	day = 24 * time.Hour
	// A time of day this much before the row above is the next day's: less is a row
	// written out of order.
	pastMidnight = 12 * time.Hour
	// One this much after it, once midnight has passed, is the day before's.
	beforeMidnight = 18 * time.Hour
)

// days gives each time of day its date and resolves it to an instant. It returns
// false when the order of the dates is still to be asked for.
func (b *builder) days(all []stamp) bool {
	for _, s := range all {
		if len(dates(s.readings)) > 1 {
			return false
		}
	}
	base, zone := b.base(all), b.zone()
	if base.IsZero() {
		base, zone = timecode.Date{Year: 1970, Month: time.January, Day: 1}, time.UTC
		b.log.Undated = len(all) > 0
	}
	for i := range all {
		s := &all[i]
		w := s.readings[0]
		s.instant = w.Instants(later(base, s.day), zone)
		if len(s.instant) == 0 {
			b.skipped(*s, w, later(base, s.day), zone)
		}
	}
	b.lookOver(all)
	return true
}

func (b *builder) zone() *time.Location {
	if b.o.Zone == nil {
		return time.UTC
	}
	return b.o.Zone
}

// base is the date of the log's first row: the job's, unless a row brings a date. It
// counts each row's days from there.
func (b *builder) base(all []stamp) timecode.Date {
	base, anchored := b.o.Date, false
	now, last := 0, time.Duration(-1)
	for i := range all {
		s := &all[i]
		w := s.readings[0]
		if d := dates(s.readings); len(d) > 0 {
			if !anchored {
				// The rows above were counted from a first day not known until here.
				now = follow(now, last, w.Since)
				base, anchored = later(d[0], -now), true
			}
			now = daysBetween(base, d[0])
		} else {
			now = follow(now, last, w.Since)
		}
		s.day, last = now, time.Duration(now)*day+w.Since
	}
	return base
}

// follow is the day of a time of day that stands below last.
func follow(now int, last, since time.Duration) int {
	if last < 0 {
		return now
	}
	switch at := time.Duration(now)*day + since; {
	case at < last-pastMidnight:
		return now + 1
	case at > last+beforeMidnight && now > 0:
		return now - 1
	}
	return now
}

func later(d timecode.Date, days int) timecode.Date {
	t := time.Date(d.Year, d.Month, d.Day+days, 0, 0, 0, 0, time.UTC)
	return timecode.Date{Year: t.Year(), Month: t.Month(), Day: t.Day()}
}

func daysBetween(a, b timecode.Date) int {
	utc := func(d timecode.Date) time.Time { return time.Date(d.Year, d.Month, d.Day, 0, 0, 0, 0, time.UTC) }
	return int(utc(b).Sub(utc(a)) / day)
}

// skipped is the fault of a time in the hour that a clock leaves out.
func (b *builder) skipped(s stamp, w timecode.Written, d timecode.Date, zone *time.Location) {
	if w.Form == timecode.DateTime {
		d = timecode.Date{Year: w.Year, Month: w.Month, Day: w.Day}
	}
	f := b.faultAt(s.row, b.at["time"], s.value)
	f.Text = fmt.Sprintf("this time doesn't exist on %s in %s: clocks went forward over it", d, zone)
	f.Hint = "was the clock still on winter time? then write the offset into the cell, such as " + offsetText(s.value, before(d, zone))
	b.fault(f)
}

// before is zone's offset at the start of d.
func before(d timecode.Date, zone *time.Location) time.Time {
	return time.Date(d.Year, d.Month, d.Day, 0, 0, 0, 0, zone)
}

// offsetText is a written time with the offset that t has.
func offsetText(value string, t time.Time) string {
	return strings.TrimSpace(value) + " " + t.Format("-07:00")
}

// lookOver tells of times that were probably not meant as written.
func (b *builder) lookOver(all []stamp) {
	for i := 1; i < len(all); i++ {
		a, c := all[i-1], all[i]
		if len(a.instant) != 1 || len(c.instant) != 1 {
			continue
		}
		if back := a.instant[0].Sub(c.instant[0]); back >= 3*time.Hour {
			b.log.Notes = append(b.log.Notes, fmt.Sprintf("row %d (%s) lies %s before the row above it (%s); if it was after noon, write it as in 13:05",
				c.row+1, strings.TrimSpace(c.value), strings.TrimSuffix(back.Round(time.Minute).String(), "0s"), strings.TrimSpace(a.value)))
		}
	}
	if len(all) > 1 && all[0].readings[0].Form == timecode.TimeOfDay && all[0].readings[0].Since < 10*time.Minute && b.o.Columns["time"] == "" {
		b.log.Notes = append(b.log.Notes, fmt.Sprintf("the log's times start at %s; if they count from the start of the log rather than from midnight, write under [log.columns] in job.toml: elapsed = %q",
			strings.TrimSpace(all[0].value), all[0].column))
	}
}

// twice settles the hour that comes twice when summer time ends, by the order of the
// rows: within it time goes on, so a step back is the change; and a push isn't
// interrupted for an hour. What that leaves open is asked for.
func (b *builder) twice(all []stamp) {
	var doubles []int // those with two instants
	for i, s := range all {
		if len(s.instant) == 2 {
			doubles = append(doubles, i)
		}
	}
	if len(doubles) == 0 {
		return
	}
	// A cut parts the doubles: those before it are the first hour's, the others the second's.
	cuts := []int{len(doubles), 0}
	for n := 1; n < len(doubles) && len(cuts) < 66; n++ {
		if all[doubles[n]].instant[0].Before(all[doubles[n-1]].instant[0]) {
			cuts = append(cuts, n)
		}
	}
	best, second := cuts[0], -1
	for _, cut := range cuts[1:] {
		switch c := compare(all, doubles, cut, best); {
		case c < 0:
			best, second = cut, -1
		case c == 0:
			second = cut
		}
	}
	if second >= 0 {
		b.askHour(all[doubles[0]])
		return
	}
	for n, i := range doubles {
		all[i].instant = all[i].instant[which(n, best):][:1]
	}
	b.log.Notes = append(b.log.Notes, fmt.Sprintf("summer time ended during the log: by the order of the rows, %d of its times lie in the first of the two equal hours and %d in the second",
		best, len(doubles)-best))
}

// which is the instant that the nth double takes under a cut.
func which(n, cut int) int {
	if n < cut {
		return 0
	}
	return 1
}

// compare tells which of two cuts makes the better sequence: negative for a. Fewer
// steps back win, then the shorter longest silence, where it differs by half an hour.
func compare(all []stamp, doubles []int, a, b int) int {
	backA, gapA := judge(all, doubles, a)
	backB, gapB := judge(all, doubles, b)
	switch {
	case backA != backB:
		return backA - backB
	case gapA <= gapB-30*time.Minute:
		return -1
	case gapB <= gapA-30*time.Minute:
		return 1
	}
	return 0
}

func judge(all []stamp, doubles []int, cut int) (back int, gap time.Duration) {
	var last time.Time
	n := 0
	for i, s := range all {
		if len(s.instant) == 0 {
			continue
		}
		t := s.instant[0]
		if n < len(doubles) && doubles[n] == i {
			t = s.instant[which(n, cut)]
			n++
		}
		if !last.IsZero() {
			if t.Before(last) {
				back++
			}
			gap = max(gap, t.Sub(last))
		}
		last = t
	}
	return back, gap
}

// askHour asks which of two equal hours was meant.
func (b *builder) askHour(s stamp) {
	first, second := s.instant[0], s.instant[1]
	f := b.faultAt(s.row, b.at["time"], s.value)
	f.Text = fmt.Sprintf("this hour comes twice that night: it can be %s or %s", first.Format("15:04 -07:00"), second.Format("15:04 -07:00"))
	f.Hint = fmt.Sprintf("write the offset into the cell: %s   or   %s; or under [job] in job.toml write zone = %q   or   zone = %q",
		offsetText(s.value, first), offsetText(s.value, second), fixedZone(first), fixedZone(second))
	b.fatal = append(b.fatal, f)
}

// fixedZone is the name of the zone that always has t's offset; its sign runs the
// other way (IANA time zone database, file etcetera).
func fixedZone(t time.Time) string {
	_, seconds := t.Zone()
	if seconds == 0 {
		return "Etc/GMT"
	}
	return fmt.Sprintf("Etc/GMT%+d", -seconds/3600)
}
