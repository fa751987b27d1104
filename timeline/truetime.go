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
	ahead time.Duration
	zone  *time.Location
}

func (r *resolver) civilTime() *civilTime {
	c := &civilTime{fit: r.t.Clock, zone: r.zone}
	if r.calendar.elapsed {
		c.fit = r.byRecorder
	} else if a := r.sheet.Log.Ahead; a != nil {
		c.ahead = *a
	}
	if c.fit == nil || r.calendar.undated {
		return nil
	}
	return c
}

func (c *civilTime) at(v timecode.Video) (time.Time, bool) {
	if c == nil {
		return time.Time{}, false
	}
	if first, _, ok := c.fit.Log(0); ok {
		if d, ok := c.fit.Elapsed(v); ok {
			return first.Add(d - c.ahead).Time(c.zone), true
		}
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
