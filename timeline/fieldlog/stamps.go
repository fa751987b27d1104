package fieldlog

import (
	"context"
	"slices"
	"strings"
	"time"

	"pushcue/timeline/fault"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// A stamp is the written time of one row on its way to a moment.
type stamp struct {
	row      int    // index among the rows
	text     string // date and time as read, "" without any
	column   string // header word, for faults
	value    string // as written, for faults
	readings []timecode.Written
	err      error

	day     int         // days from the log's first, where the row has no date of its own
	instant []time.Time // one; two in the hour that comes twice
}

// moment is a cell's text as a time is read from it: a sheet's own date and time have
// one reading only.
func (c cell) moment() string {
	if c.iso != "" {
		return c.iso
	}
	return trim(c.text)
}

// elapsed is a cell's text as a length of time is read from it. A sheet shows 5:14 as
// it was typed but holds 5 hours 14 minutes, so what it shows counts.
func (c cell) elapsed() string {
	behind := c.text[strings.LastIndexAny(c.text, "0123456789")+1:]
	if half := words.FindTimeWord(behind); c.iso != "" && half != words.NoTimeWord && half != words.TimeOfDay {
		return c.iso // 5:14:00 AM
	}
	if c.number != "" {
		return c.number
	}
	return trim(c.text)
}

// stamps collects the times of all rows, date and time put together where they stand
// in two columns.
func (b *builder) stamps(ctx context.Context) ([]stamp, error) {
	at, date := b.at.at("time"), b.at.at("date")
	all := make([]stamp, 0, len(b.t.records))
	for i, r := range b.t.records {
		if i%1024 == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		c, d := r.at(at), r.at(date)
		s := stamp{row: i, column: b.header(at), value: c.text, text: c.moment()}
		if s.text != "" && !d.blank() {
			day := d.moment()
			if cut := midnightly.FindStringSubmatch(day); cut != nil {
				day = cut[1]
			}
			s.text = day + " " + s.text
			if c.iso != "" && c.serial >= 1 { // the time has a date of its own
				s.text = c.iso
			}
		}
		if s.text != "" {
			s.readings, s.err = timecode.ParseClock(s.text, b.o.Dates)
			all = append(all, s)
		}
	}
	return all, nil
}

// times gives the rows their moments.
func (b *builder) times(ctx context.Context) error {
	if b.at.at("elapsed") >= 0 && b.at.at("time") < 0 {
		b.log.Elapsed = true
		return b.elapsedTimes(ctx, b.at["elapsed"])
	}
	if b.at.at("time") < 0 {
		return nil
	}
	all, err := b.stamps(ctx)
	if err != nil {
		return err
	}
	if b.countsFromStart(all) {
		b.log.Elapsed = true
		return b.elapsedTimes(ctx, b.at["time"])
	}
	b.order(all)
	all = b.clockOnly(all)
	if !b.days(all) {
		return nil
	}
	b.twice(all)
	for _, s := range all {
		if len(s.instant) == 0 {
			continue
		}
		half := s.readings[0].Resolution / 2
		b.log.Rows[s.row].Time = &Moment{Log: timecode.LogAt(s.instant[0]).Add(half), Half: half, Text: s.value}
	}
	return nil
}

func (b *builder) elapsedTimes(ctx context.Context, column int) error {
	for i, r := range b.t.records {
		if i%1024 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		c := r.at(column)
		if c.blank() {
			continue
		}
		w, err := timecode.ParseElapsed(c.elapsed())
		if err != nil {
			b.unreadable(i, column, c, err)
			continue
		}
		b.log.Rows[i].Time = &Moment{Log: timecode.Log(w.Middle()), Half: w.Resolution / 2, Text: c.text}
	}
	return nil
}

// countsFromStart tells a log whose times count from its own start: more than half of
// them can be nothing else. Those that can be both follow the rest.
func (b *builder) countsFromStart(all []stamp) bool {
	if _, said := b.o.Columns["time"]; said {
		return false
	}
	elapsed, open, clock := 0, 0, 0
	for _, s := range all {
		switch can := forms(s.readings); {
		case s.err != nil:
		case can[timecode.Elapsed] && len(can) > 1:
			open++
		case can[timecode.Elapsed]:
			elapsed++
		default:
			clock++
		}
	}
	if elapsed+clock == 0 && open > 0 {
		b.askForm(all)
	}
	return elapsed > clock
}

func forms(readings []timecode.Written) map[timecode.Form]bool {
	m := map[timecode.Form]bool{}
	for _, w := range readings {
		m[w.Form] = true
	}
	return m
}

// askForm asks whether times are times of day or count from the start.
func (b *builder) askForm(all []stamp) {
	for _, s := range all {
		if len(forms(s.readings)) < 2 {
			continue
		}
		f := b.faultAt(s.row, b.at["time"], s.value)
		f.Text = words.Tell("this can be a time of day or a time since the start")
		f.Hint = words.Tell("under [log.columns] in job.toml write time = %q   or   elapsed = %q", s.column, s.column)
		f.Choices = []fault.Choice{
			{Label: words.Tell("a time of day"), Key: "log.columns.time", Value: s.column},
			{Label: words.Tell("a time since the start"), Key: "log.columns.elapsed", Value: s.column},
		}
		b.fatal = append(b.fatal, f)
		return
	}
}

// clockOnly drops what isn't a time of day, each with its fault.
func (b *builder) clockOnly(all []stamp) []stamp {
	var kept []stamp
	for _, s := range all {
		if s.err == nil {
			s.readings = slices.DeleteFunc(s.readings, func(w timecode.Written) bool { return w.Form == timecode.Elapsed })
			if len(s.readings) == 0 {
				s.err = words.Errorf("this isn't a time of day, as the log's other times are")
			}
		}
		if s.err != nil {
			b.unreadable(s.row, b.at["time"], b.t.records[s.row].at(b.at["time"]), s.err)
			continue
		}
		kept = append(kept, s)
	}
	return kept
}
