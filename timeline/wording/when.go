package wording

import (
	"time"

	"pushcue/timeline"
	"pushcue/timeline/timecode"
)

// TimeAt is true time at v to the second, as a clock would show it, with its zone. It
// says so where the time comes only from a clock that nobody has checked, and carries its
// ± where that is more than two seconds: the greatest of the recording, so that the text
// keeps its width. Where no time is known it says that too, beside the day where the job
// names it.
func (w *Wording) TimeAt(v timecode.Video) string {
	if at, known := w.trueTime(v); known {
		text := w.l.DateTime(at)
		const shown = 2 * time.Second // less is hardly more than the second that is shown
		if half := w.clockHalf(); half > shown && !w.t.TimeSource(v).Unchecked() {
			return w.l.Say("time-plus-minus", text, Span(half.Truncate(time.Second)+time.Second))
		}
		return w.marked(text, v)
	}
	if day := w.Day(); day != "" {
		return day + ", " + w.l.Say("no-time")
	}
	return w.l.Say("no-time")
}

// DayAt is the day at v with its zone, for a headline: "2026-03-02 WET"; "" where true
// time isn't known there.
func (w *Wording) DayAt(v timecode.Video) string {
	at, known := w.trueTime(v)
	if !known {
		return ""
	}
	return w.marked(at.Format("2006-01-02 MST"), v)
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

// marked says beside a time at v that nobody has checked its clock, where that is so.
func (w *Wording) marked(text string, v timecode.Video) string {
	if w.t.TimeSource(v).Unchecked() {
		return w.l.Say("time-unchecked", text)
	}
	return text
}

// uncheckedTime reports whether all or some of the times that the recording's parts and
// the observations are shown with come from a clock that nobody has checked.
func (w *Wording) uncheckedTime() (all, some bool) {
	moments := []timecode.Video{w.t.ShowFrom}
	for _, p := range w.t.Recording.Parts {
		moments = append(moments, p.Start)
	}
	for i := range w.t.Observations {
		moments = append(moments, w.t.Observations[i].Video)
	}
	all = true
	for _, v := range moments {
		if source := w.t.TimeSource(v); source != "" {
			all, some = all && source.Unchecked(), some || source.Unchecked()
		}
	}
	return all && some, some
}
