package wording

import (
	"time"

	"pushcue/timeline/clock"
	"pushcue/timeline/timecode"
)

// TimeAt is true time at v to the second, as a clock would show it, with its zone. It
// says so where the time comes only from a clock that nobody has checked. Where no time
// is known it says that too, beside the day where the job names it.
func (w *Wording) TimeAt(v timecode.Video) string {
	if at, known := w.trueTime(v); known {
		if w.WeakTime() {
			return w.l.Say("time-unchecked", w.l.DateTime(at))
		}
		return w.l.DateTime(at)
	}
	d := w.t.Sheet.Job.Date
	if d.Year == 0 {
		return w.l.Say("no-time")
	}
	return w.l.Date(time.Date(d.Year, d.Month, d.Day, 12, 0, 0, 0, time.UTC)) + ", " + w.l.Say("no-time")
}

// WeakTime reports whether true time rests on nothing but the files' own times or a
// recorder's clock.
func (w *Wording) WeakTime() bool {
	return w.t.Clock != nil && w.t.Clock.Basis == clock.FileTimes
}
