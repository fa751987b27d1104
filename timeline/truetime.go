package timeline

import (
	"time"

	"pushcue/timeline/clock"
	"pushcue/timeline/timecode"
)

// civilTime is true time along the recording: what the log's clock showed at the
// first frame less how far it was ahead, then running with video time, since
// what the log's clock gains afterwards is its own fault. A pause adds its gap.
type civilTime struct {
	fit   *clock.Fit
	first timecode.Log // at the first frame
	tied  bool         // first is known
	ahead time.Duration
	zone  *time.Location
}

// civilTime goes by the log's clock, or by the recorder's where the log counts
// from its own zero; nil where neither tells the day.
func (r *resolver) civilTime() *civilTime {
	c := &civilTime{fit: r.t.Clock, zone: r.zone}
	switch {
	case r.calendar.undated:
		return nil
	case r.calendar.elapsed:
		c.fit = r.recorderFit()
	case r.sheet.Log.Ahead != nil:
		c.ahead = *r.sheet.Log.Ahead
	}
	if c.fit == nil {
		return nil
	}
	c.first, _, c.tied = c.fit.Log(0)
	return c
}

func (c *civilTime) at(v timecode.Video) (time.Time, bool) {
	if c == nil {
		return time.Time{}, false
	}
	if d, ok := c.fit.Elapsed(v); c.tied && ok {
		return c.first.Add(d - c.ahead).Time(c.zone), true
	}
	for _, s := range c.fit.Segments {
		if s.Tied && s.From <= v && v <= s.To {
			return s.LogAtFrom.Add(v.Sub(s.From) - c.ahead).Time(c.zone), true
		}
	}
	return time.Time{}, false
}

// TrueTime is the civil time at v in the job's zone; false while the log clock
// is unsure there.
func (t *Timeline) TrueTime(v timecode.Video) (time.Time, bool) { return t.civil.at(v) }

// TrueTimeBasis says what true time rests on; false where it isn't known. It may be
// another basis than the log's clock has: a log that counts from its own zero tells no
// time of day.
func (t *Timeline) TrueTimeBasis() (clock.Basis, bool) {
	if t.civil == nil {
		return "", false
	}
	return t.civil.fit.Basis, true
}

// TrueTimeHalf is the half-width that holds true time in 95 % of cases, at the worst
// moment of the recording's tied stretches.
func (t *Timeline) TrueTimeHalf() time.Duration {
	if t.civil == nil {
		return 0
	}
	var worst time.Duration
	for _, s := range t.civil.fit.Segments {
		for _, v := range []timecode.Video{s.From, s.To} {
			if _, half, ok := t.civil.fit.Log(v); ok {
				worst = max(worst, half)
			}
		}
	}
	return worst
}
