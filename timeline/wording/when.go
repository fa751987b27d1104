package wording

import (
	"time"

	"pushcue/timeline/timecode"
)

// TimeAt is true time at v to the second, as a clock would show it, with its zone.
// Where that isn't known it says so, beside the day where the job names it.
func (w *Wording) TimeAt(v timecode.Video) string {
	if at, known := w.trueTime(v); known {
		return w.l.DateTime(at)
	}
	d := w.t.Sheet.Job.Date
	if d.Year == 0 {
		return w.l.Say("no-time")
	}
	return w.l.Date(time.Date(d.Year, d.Month, d.Day, 12, 0, 0, 0, time.UTC)) + ", " + w.l.Say("no-time")
}
