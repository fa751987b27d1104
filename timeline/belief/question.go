// Package belief weighs all that bears on when the rows of a log were seen: one
// posterior over the log's clock, its writer's habit and each row's moment.
//
//	answer := question.Weigh()
//	p := answer.Rows[i] // where row i was seen: shares of belief over the recording
//
// The model (derived here, but for what names a source): a row is seen at a moment of
// the recording, by a density that favours stands; its distance is what the track
// shows then, or a slip of the pen; it is written as late as its writer's habit has it;
// and the log's clock is ahead of the recording by an offset that drifts, gains by
// pauses and differs from part to part. Sums over all of that are made on grids, so
// that the same job gives the same answer. Nothing is gated or ranked: evidence that
// is weak leaves the belief wide.
//
// All times are seconds: of the recording, or of the log's clock from any zero.
package belief

import "math"

// A Question is what is known of a job. Rows are in the log's order.
type Question struct {
	Parts   []Span
	Moments Moments
	Rows    []Row
	Habits  []Habit
	Lengths float64   // metres among which a mistyped distance may be
	Frames  []float64 // logarithm of how likely each way is in which the log's distances stand to the track's; the usual one first
	Anchors []Anchor
	Lines   func(written float64) []Stretch // the clock as anchors alone tell it; nil without any
	Whole   bool                            // Lines tell of every moment of the recording
	Pauses  []Span                          // of the log's time, in which anchors show a pause
	Found   bool                            // the anchors are rows, whose moments somebody found again: when they were seen or when they were written

	window float64 // seconds among which a wrong time may be
	mixed  Habit   // of a writer of whom nothing is known
	laws   map[lawKey]*law
}

// An Anchor is a moment known on both clocks.
type Anchor struct {
	Log, LogHalf, Video, VideoHalf float64
	Wrong                          float64 // how likely it is wrong, before anything else is known
}

// A Stretch is a part of the recording over which the clock is tied: In[k] … at which
// moments of it the clock showed a time, by lines that are each as likely as the next.
type Stretch struct {
	In Span
	At []float64
}

// An Answer is what was found.
type Answer struct {
	Rows   []Place   // by row
	Habits []float64 // share of each
	Frames []float64 // share of each
	Clock  []Tied    // by part; empty where no chain was needed
	Wrong  []float64 // by anchor: how likely it is wrong
	Trust  float64   // in Lines: 1 where nothing speaks against them
}

// Tied is what is known of a part's clock.
type Tied struct {
	All         Offsets // at all rows that were seen in it
	First, Last Offsets // at the first and the last of them, written at From and To; empty where none surely was
	From, To    float64
}

// A candidate is one way in which a row's clock may run, under one frame and habit.
type candidate struct {
	habit, frame int
	in           Span
	x            float64 // the recording's time at which it was written
	weight       float64
}

// logSum is the logarithm of the sum of exponentials.
func logSum(logs []float64) float64 {
	top := math.Inf(-1)
	for _, l := range logs {
		top = max(top, l)
	}
	if math.IsInf(top, -1) {
		return top
	}
	var sum float64
	for _, l := range logs {
		sum += math.Exp(l - top)
	}
	return top + math.Log(sum)
}

// shares turns logarithms into shares of 1.
func shares(logs []float64) []float64 {
	whole := logSum(logs)
	out := make([]float64, len(logs))
	for i, l := range logs {
		out[i] = math.Exp(l - whole)
	}
	return out
}
