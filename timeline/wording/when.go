package wording

import (
	"time"

	"pushcue/timeline"
	"pushcue/timeline/clock"
	"pushcue/timeline/timecode"
)

// TimeAt is true time at v to the second, as a clock would show it, with its zone. It
// says so where the time comes only from a clock that nobody has checked, and carries its
// ± where that is more than two seconds: the greatest of the recording, so that the text
// keeps its width. Where no time is known it says that too, beside the day where the job
// names it.
func (w *Wording) TimeAt(v timecode.Video) string {
	if at, known := w.trueTime(v); known {
		const shown = 2 * time.Second // less is hardly more than the second that is shown
		switch half := w.clockHalf(); {
		case w.WeakTime():
			return w.l.Say("time-unchecked", w.l.DateTime(at))
		case half > shown:
			return w.l.Say("time-plus-minus", w.l.DateTime(at), Span(half.Truncate(time.Second)+time.Second))
		}
		return w.l.DateTime(at)
	}
	if day := w.Day(); day != "" {
		return day + ", " + w.l.Say("no-time")
	}
	return w.l.Say("no-time")
}

// Day is the day of the push, its month in letters; "" where the job doesn't name it.
func (w *Wording) Day() string {
	d := w.t.Sheet.Job.Date
	if d.Year == 0 {
		return ""
	}
	return w.l.Date(time.Date(d.Year, d.Month, d.Day, 12, 0, 0, 0, time.UTC))
}

// When is where in the recording that is handed over an observation is seen, with its ±
// from a second on; that it isn't there, where it lies outside what is shown.
func (w *Wording) When(o *timeline.Observation) string {
	if o.Hidden {
		return w.l.Say("page-outside")
	}
	text := w.l.Say("page-in-video", Clock(o.Video-w.t.ShowFrom))
	if half := w.GiveOrTake(o); half != "" {
		text += ", " + half
	}
	return text
}

// TrueTime is TimeAt for an observation; "" where its true time isn't known.
func (w *Wording) TrueTime(o *timeline.Observation) string {
	if o.TrueTime == nil {
		return ""
	}
	return w.TimeAt(o.Video)
}

// Clock is a moment of a recording or a length of sound to the second, as a player
// counts it: "5:14", "1:02:03".
func Clock(v timecode.Video) string { return (v - v%timecode.Video(time.Second)).Format(0) }

// WeakTime reports whether true time rests on nothing but the files' own times or a
// recorder's clock, and nobody said how far that was off.
func (w *Wording) WeakTime() bool {
	basis, known := w.t.TrueTimeBasis()
	if !known && w.t.Clock != nil {
		basis = w.t.Clock.Basis
	}
	return basis == clock.FileTimes && w.t.Sheet.Recording.Ahead == nil
}
