package fieldlog

import (
	"strings"
	"time"

	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
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
	f.Text = words.Tell("this time doesn't exist on %s in %s: clocks went forward over it", d, zone)
	f.Hint = words.Tell("was the clock still on winter time? then write the offset into the cell, such as %s", offsetText(s.value, before(d, zone)))
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
			b.log.Notes = append(b.log.Notes, words.Tell("row %d (%s) lies %s before the row above it (%s); if it was after noon, write it as in 13:05", c.row+1, strings.TrimSpace(c.value), strings.TrimSuffix(back.Round(time.Minute).String(), "0s"), strings.TrimSpace(a.value)))
		}
	}
	if len(all) > 1 && all[0].readings[0].Form == timecode.TimeOfDay && all[0].readings[0].Since < 10*time.Minute && b.o.Columns["time"] == "" {
		b.log.Notes = append(b.log.Notes, words.Tell("the log's times start at %s; if they count from the start of the log rather than from midnight, write under [log.columns] in job.toml: elapsed = %q", strings.TrimSpace(all[0].value), all[0].column))
	}
}
