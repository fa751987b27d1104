package timeline

import (
	"time"

	"pushcue/timeline/fault"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// A calendar turns times that the job sheet gives by the log's clock into
// moments of that clock: it knows which days the log speaks of.
type calendar struct {
	zone    *time.Location // in which the log's moments are times of day
	elapsed bool           // the log counts from its own zero
	undated bool           // its times of day have no day, and are put on one of 1970
	dates   []timecode.Date
	rows    bool         // first and last are the log's
	first   timecode.Log // earliest
	last    timecode.Log // and latest row with a time
}

// newCalendar takes the days from the job sheet, the log's rows and, where
// neither tells, the recording files.
func newCalendar(sheet *jobsheet.Sheet, log *fieldlog.Log, parts []Part) calendar {
	c := calendar{zone: sheet.Zone()}
	if log != nil {
		c.elapsed, c.undated = log.Elapsed, log.Undated && !log.Elapsed
		for i := range log.Rows {
			if m := log.Rows[i].Time; m != nil {
				c.see(m.Log)
			}
		}
	}
	if c.undated {
		c.zone, c.dates = time.UTC, []timecode.Date{noDay}
		return c
	}
	if d := sheet.Job.Date; d.Year != 0 {
		c.dates = append(c.dates, timecode.Date{Year: d.Year, Month: d.Month, Day: d.Day})
	}
	if c.rows && !c.elapsed {
		c.dates = append(c.dates, dateOf(c.first.Time(c.zone)), dateOf(c.last.Time(c.zone)))
		for _, d := range c.dates {
			c.dates = append(c.dates, dayAfter(d, -1), dayAfter(d, 1))
		}
	}
	if len(c.dates) == 0 && len(parts) > 0 && !parts[0].Began.IsZero() {
		c.dates = append(c.dates, dateOf(parts[0].Began.In(c.zone)))
	}
	return c
}

// noDay is the day that package fieldlog puts times of day on when no day is known.
var noDay = timecode.Date{Year: 1970, Month: time.January, Day: 1}

func (c *calendar) see(l timecode.Log) {
	if !c.rows || l < c.first {
		c.first = l
	}
	if !c.rows || l > c.last {
		c.last = l
	}
	c.rows = true
}

func dateOf(t time.Time) timecode.Date {
	y, m, d := t.Date()
	return timecode.Date{Year: y, Month: m, Day: d}
}

func dayAfter(d timecode.Date, days int) timecode.Date {
	return dateOf(time.Date(d.Year, d.Month, d.Day+days, 12, 0, 0, 0, time.UTC))
}

// moment is when the log's clock showed w, at the middle of what was written,
// with half of its resolution. Of several days or hours that w could mean it is
// the one nearest to the log's rows.
func (c *calendar) moment(t *jobsheet.LogTime) (l timecode.Log, half time.Duration, f *fault.Fault) {
	w := t.Written
	half = w.Resolution / 2
	if c.elapsed {
		if w.Form == timecode.DateTime {
			return 0, 0, &fault.Fault{Line: t.Line, Value: t.Text,
				Text: words.Tell("the log counts its times from its own zero, but this is a date"), Hint: words.Tell("write the log's own time, like 0:05:14")}
		}
		return timecode.Log(w.Middle()), half, nil
	}
	var instants []timecode.Log
	switch {
	case w.Form == timecode.Elapsed && w.Since >= 24*time.Hour:
		return 0, 0, &fault.Fault{Line: t.Line, Value: t.Text,
			Text: words.Tell("the log is written in times of day, but this is none"), Hint: words.Tell("write it like 10:07:31")}
	case c.undated:
		instants = c.at(noDay, w.Middle())
	case w.Form == timecode.DateTime && w.Offset != nil:
		at := time.Date(w.Year, w.Month, w.Day, 0, 0, 0, 0, time.UTC).Add(w.Middle() - time.Duration(*w.Offset)*time.Second)
		instants = []timecode.Log{timecode.LogAt(at)}
	case w.Form == timecode.DateTime:
		instants = c.at(timecode.Date{Year: w.Year, Month: w.Month, Day: w.Day}, w.Middle())
	case len(c.dates) == 0:
		return 0, 0, &fault.Fault{Line: t.Line, Value: t.Text,
			Text: words.Tell("nothing tells the day of this time"), Hint: words.Tell(`add date = 2026-03-02, the day of the push, under [job]`)}
	default:
		for _, d := range c.dates {
			instants = append(instants, c.at(d, w.Middle())...)
		}
	}
	return c.nearest(instants), half, nil
}

// at is d's time of day as moments: two in the hour that comes twice. A time that
// the change to summer time skipped is taken as a clock that wasn't changed showed it.
func (c *calendar) at(d timecode.Date, since time.Duration) []timecode.Log {
	var ls []timecode.Log
	for _, t := range d.At(since, c.zone) {
		ls = append(ls, timecode.LogAt(t))
	}
	if len(ls) == 0 {
		before := d.At(since-3*time.Hour, c.zone)
		for _, t := range before {
			ls = append(ls, timecode.LogAt(t.Add(3*time.Hour)))
		}
	}
	return ls
}

func (c *calendar) nearest(ls []timecode.Log) timecode.Log {
	best := ls[0]
	if !c.rows {
		return best
	}
	for _, l := range ls[1:] {
		if c.away(l) < c.away(best) {
			best = l
		}
	}
	return best
}

// away is how far l lies outside the log's rows.
func (c *calendar) away(l timecode.Log) time.Duration {
	return max(c.first.Sub(l), l.Sub(c.last), 0)
}
