// Package clock ties the log's clock to the recording's time: one line a part,
// one shared rate, pauses found and never bridged, and an honest ± for all of it.
//
//	parts := []clock.Span{{Start: 0, End: timecode.VideoSeconds(2400), Name: "part1.mp4"}}
//	fit, err := clock.Tie(parts, anchors, clock.Options{Zone: zone})
//	if err != nil {
//		return err // a fault.List: which anchors contradict each other, and the next step
//	}
//	at, half, ok, cause := fit.Video(row.Log, 500*time.Millisecond)
//
// What it doesn't promise: an anchor's resolution is believed. Two anchors that
// are both worse than they were written can't be told from two good ones; from
// the third on their scatter shows, and widens the ±.
package clock

import (
	"time"

	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// An Anchor is one moment known on both clocks.
type Anchor struct {
	Number    int            // of the job sheet's anchors, from 1; 0 where it is none of them
	Name      words.Sentence // how the user would find it again: "anchor 2 (row 3)"
	Log       timecode.Log   // the middle of what was written
	LogHalf   time.Duration  // the written time may be off by this much either way
	Video     timecode.Video // likewise
	VideoHalf time.Duration
}

// Basis says what the fit rests on.
type Basis string

const (
	Anchors   Basis = "anchors"
	Starts    Basis = "starts"
	Track     Basis = "track"
	FileTimes Basis = "file times" // weak
)

// A Span is one part of the recording on its joined time.
type Span struct {
	Start timecode.Video
	End   timecode.Video
	Name  string // as sentences have it; "part 2" where it is empty
}

// Options are what the caller knows besides parts and anchors. The zero value works.
type Options struct {
	// Zone shows log times in sentences as times of day; nil: as time elapsed.
	Zone *time.Location
	// Began are the parts' starts on the recorder's own clock, a zero time where
	// unknown. Only their differences are used, and only for a part that no
	// anchor ties: such a stretch is Weak.
	Began []time.Time
	// BeganHalf is how far such a difference may be off; 0 stands for 5 s, since
	// some recorders stamp a file when they open it and some a little later.
	BeganHalf time.Duration
	// Weak names the recorder's times in sentences; empty stands for those of the files.
	Weak words.Sentence
}

func (o Options) weak() words.Sentence {
	if !o.Weak.Empty() {
		return o.Weak
	}
	return words.Tell("the files' own times, which are weak")
}

// A Segment is a stretch of the recording over which the log clock runs straight.
type Segment struct {
	From, To  timecode.Video
	LogAtFrom timecode.Log
	RatePPM   float64       // log clock against video: positive, the log clock runs fast
	Residual  time.Duration // root mean square of the anchors used; 0 where they can't tell
	Tied      bool          // false: nothing ties this stretch, rows in it stay unplaced
	Part      int           // index of the part it lies in
	Weak      bool          // tied by the files' own times only
}

// A SetAside is an anchor that doesn't agree with the others and wasn't used.
type SetAside struct {
	Anchor Anchor
	Off    time.Duration  // its log time less what the others say; 0 where its part is untied
	Text   words.Sentence // who, by how much, what to do
}

// A Pause is log time that passed within a part while nothing was recorded.
type Pause struct {
	From, To       timecode.Video // the anchors that span it: it lies somewhere between
	LogFrom, LogTo timecode.Log   // the same on the log's clock; rows between stay unplaced
	Gained         time.Duration  // how long it was
	Half           time.Duration  // ± of Gained
	Text           words.Sentence
}

// A Fit is the log clock tied to the recording. It is read-only.
type Fit struct {
	Basis    Basis
	Segments []Segment // in order, covering all parts
	SetAside []SetAside
	Pauses   []Pause
	// Uneven is set where the recording itself runs uneven by per cents (a
	// recorder that drops frames), so that the log clock is the better one.
	Uneven bool

	parts   []Span
	options Options
	zero    timecode.Log // log moment that internal seconds count from
	beliefs []belief     // one a segment
}
