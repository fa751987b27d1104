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
	weak  []TimeSource // for each part, what a stretch rests on that only the recorder's times tie
}

// A TimeSource is what the true time of a moment is known by.
type TimeSource string

const (
	TimeByLog               TimeSource = "log clock"                // tied to the recording by anchors, the known start or the counter
	TimeByCorrectedRecorder TimeSource = "corrected recorder clock" // the job sheet says how far it was off
	TimeByRecorder          TimeSource = "recorder clock"           // as the picture shows it; nobody has checked it
	TimeByFiles             TimeSource = "file times"               // as the files hold them; nobody has checked them
)

// Unchecked reports whether the time may be off by anything, since nobody has compared
// the clock that it comes from with another one.
func (s TimeSource) Unchecked() bool { return s == TimeByRecorder || s == TimeByFiles }

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
	for _, p := range r.in.Recording.Parts {
		source := TimeByFiles
		switch {
		case c.fit.Basis == clock.FileTimes && r.sheet.Recording.Ahead != nil:
			source = TimeByCorrectedRecorder
		case p.Shown != nil:
			source = TimeByRecorder
		}
		c.weak = append(c.weak, source)
	}
	return c
}

// source is what at rests on; "" where it tells nothing.
func (c *civilTime) source(v timecode.Video) TimeSource {
	if _, known := c.at(v); !known {
		return ""
	}
	if s, known := c.fit.SegmentAt(v); known && s.Weak {
		return c.weak[s.Part]
	}
	return TimeByLog
}

func (c *civilTime) at(v timecode.Video) (time.Time, bool) {
	if c == nil {
		return time.Time{}, false
	}
	if d, ok := c.fit.Elapsed(v); c.tied && ok {
		return c.first.Add(d - c.ahead).Time(c.zone), true
	}
	if s, known := c.fit.SegmentAt(v); known && s.Tied {
		return s.LogAtFrom.Add(v.Sub(s.From) - c.ahead).Time(c.zone), true
	}
	return time.Time{}, false
}

// TrueTime is the civil time at v in the job's zone; false while the log clock
// is unsure there.
func (t *Timeline) TrueTime(v timecode.Video) (time.Time, bool) { return t.civil.at(v) }

// TimeSource is what TrueTime at v is known by; "" where it isn't known.
func (t *Timeline) TimeSource(v timecode.Video) TimeSource { return t.civil.source(v) }

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
