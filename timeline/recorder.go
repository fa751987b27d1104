package timeline

import (
	"time"

	"pushcue/timeline/clock"
	"pushcue/timeline/codes"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// How far a recorder's own clock is taken to be off at most (common practice, no
// published source): much less once somebody has said how far it was off.
const (
	recorderOff      = time.Minute
	recorderOffKnown = 5 * time.Second
)

// tieByFileTimes ties the clocks by when the recorder says that each part began:
// weak, and only where it can be true at all. A log that counts from its own
// zero can't be tied so.
func (r *resolver) tieByFileTimes() {
	if r.calendar.elapsed {
		return
	}
	r.t.Clock = r.recorderFit()
	if r.t.Clock != nil && r.calendar.rows {
		r.warn(Warning{Code: codes.ClockWeak,
			Text: words.Tell("the log is tied to the recording only by %s, and recorders' clocks are often wrong", r.recorderTimes()),
			Hint: words.Tell("add an [[anchor]]: one moment that you know in the log and in the recording")})
	}
}

// recorderFit ties the recording to true time, as far as the recorder knew it;
// nil where its times are missing or nothing bears them out.
func (r *resolver) recorderFit() *clock.Fit {
	began, known, ok := r.beganOnLog()
	if known && !ok {
		first := r.firstBegan()
		r.warn(Warning{Code: codes.FiletimeUnusable,
			Text: words.Tell("by %s the recording began on %s at %s, which %s; that date was ignored",
				r.recorderTimes(), first.Format(time.DateOnly), first.Format(time.TimeOnly), r.doubtOfDay()),
			Hint: r.dayHint()})
	}
	if !ok {
		return nil
	}
	half := recorderOff
	if r.sheet.Recording.Ahead != nil {
		half = recorderOffKnown
	}
	return clock.FromFileTimes(r.spans, began, half, r.clockOptions())
}

func (r *resolver) doubtOfDay() words.Sentence {
	switch {
	case r.calendar.rows:
		return words.Tell("doesn't fit the times in the log")
	case r.sheet.Job.Date.Year == 0:
		return words.Tell("nothing else supports")
	}
	return words.Tell("doesn't fit the job's date")
}

func (r *resolver) dayHint() words.Sentence {
	if !r.calendar.rows && r.sheet.Job.Date.Year == 0 {
		return words.Tell("if it's right, add the day under [job], like date = 2026-03-02")
	}
	return words.Tell(`add an [[anchor]], or starts = "10:02:11" under [recording], the log's time of the first picture; or ahead, if you know how far the recorder's clock was off`)
}

// beganOnLog moves the parts' beginnings from the recorder's clock to the log's.
// Some recorders write local time and call it UTC, so both are tried against the
// log, or against the job's date where the log tells no times.
func (r *resolver) beganOnLog() (began []*timecode.Log, known, ok bool) {
	for i := range r.in.Recording.Parts {
		_, one := r.recorderBegan(i, asWritten)
		known = known || one
	}
	if !known {
		return nil, false, false
	}
	best, most := r.shifted(asWritten), 0
	for _, read := range []func(time.Time, *time.Location) time.Time{asWritten, asLocal} {
		began := r.shifted(read)
		if n := r.agreeing(began); n > most {
			best, most = began, n
		}
	}
	told := r.sheet.Recording.Ahead != nil && (r.calendar.elapsed || !r.calendar.rows)
	return best, true, most > 0 || told
}

func asWritten(t time.Time, zone *time.Location) time.Time { return t.In(zone) }

func asLocal(t time.Time, zone *time.Location) time.Time {
	u := t.UTC()
	return time.Date(u.Year(), u.Month(), u.Day(), u.Hour(), u.Minute(), u.Second(), u.Nanosecond(), zone)
}

// onNoDay keeps the time of day only, as an undated log has it.
func onNoDay(t time.Time) time.Time {
	return time.Date(noDay.Year, noDay.Month, noDay.Day, t.Hour(), t.Minute(), t.Second(), t.Nanosecond(), time.UTC)
}

func (r *resolver) shifted(read func(time.Time, *time.Location) time.Time) []*timecode.Log {
	shift := time.Duration(0)
	if a := r.sheet.Recording.Ahead; a != nil {
		shift -= *a
	}
	if a := r.sheet.Log.Ahead; a != nil && !r.calendar.elapsed {
		shift += *a
	}
	began := make([]*timecode.Log, len(r.in.Recording.Parts))
	for i := range r.in.Recording.Parts {
		if at, ok := r.recorderBegan(i, read); ok {
			at = at.Add(shift)
			if r.calendar.undated {
				at = onNoDay(at)
			}
			l := timecode.LogAt(at)
			began[i] = &l
		}
	}
	return began
}

// agreeing counts the log's rows that would fall into the recording; without
// such rows, whether the day is the job's.
func (r *resolver) agreeing(began []*timecode.Log) int {
	n := 0
	for i, l := range began {
		if l == nil {
			continue
		}
		if !r.calendar.rows || r.calendar.elapsed {
			if d := r.sheet.Job.Date; dateOf(l.Time(r.zone)) == (timecode.Date{Year: d.Year, Month: d.Month, Day: d.Day}) {
				n++
			}
			continue
		}
		from := l.Add(-recorderOff)
		until := l.Add(r.spans[i].End.Sub(r.spans[i].Start) + recorderOff + r.sheet.Log.Lag)
		for k := range r.in.Log.Rows {
			if m := r.in.Log.Rows[k].Time; m != nil && m.Log >= from && m.Log <= until {
				n++
			}
		}
	}
	return n
}

// firstBegan is when the recording began by the recorder's clock, where that is known.
func (r *resolver) firstBegan() time.Time {
	for i := range r.in.Recording.Parts {
		if at, ok := r.recorderBegan(i, asWritten); ok {
			return at
		}
	}
	return time.Time{}
}
