// Package wording puts a resolved timeline into words, once, in one language: what an
// observation is called, where it is, when it was filmed, what is advised. Everything
// that a person reads (strip, stills, cues, chapters, page, report, tables, file names)
// takes its words from here, so that no two outputs say different things.
//
//	w := wording.In(fr, line)
//	w.Label(&line.Observations[2])   // "3. racines"
//	w.Where(&line.Observations[2])   // "env. 12,4 m"
//	w.DistanceAt(line.ShowFrom)      // "0,0 m"
//	w.TimeAt(line.ShowFrom)          // "2 mars 2026 10:02:15 UTC"
//
// It decides what is said and how sure it is. How text is cut to a line's width, or made
// safe for a format, is left to the writers.
package wording

import (
	"math"
	"strconv"
	"sync"
	"time"

	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// A Wording is one timeline in the words of one language. It is read-only and may be
// used by several goroutines.
type Wording struct {
	t *timeline.Timeline
	l *words.Language

	trueTime  func(timecode.Video) (time.Time, bool)
	clockHalf func() time.Duration // ± of true time, at its worst
}

// In returns the words for t in language l.
func In(l *words.Language, t *timeline.Timeline) *Wording {
	return &Wording{t: t, l: l, trueTime: t.TrueTime, clockHalf: sync.OnceValue(t.TrueTimeHalf)}
}

// WithClock returns the same words with true time taken from another clock than the
// timeline's. Tests of layout use it to show times that a made-up timeline lacks.
func (w *Wording) WithClock(trueTime func(timecode.Video) (time.Time, bool)) *Wording {
	other := *w
	other.trueTime = trueTime
	return &other
}

// Timeline is what is worded.
func (w *Wording) Timeline() *timeline.Timeline { return w.t }

// Given is a length that a person gave, with all its digits down to a millimetre (a
// thousandth of a foot): "10.25 m".
func (w *Wording) Given(m distance.Metres) string {
	unit, value := distance.Metre, float64(m)
	if w.t.Sheet.Job.Units == distance.Foot {
		unit, value = distance.Foot, float64(m/distance.PerFoot)
	}
	const digits = 1000
	return w.decimal(strconv.FormatFloat(math.Round(value*digits)/digits, 'f', -1, 64)) + " " + string(unit)
}

// Length is a length in the job's unit with one decimal: "12.4 m".
func (w *Wording) Length(m distance.Metres) string {
	return m.Format(w.t.Sheet.Job.Units, w.l.Decimal)
}
