// Package clock ties the log's clock to the recording's time: one line a part,
// one shared rate, pauses found and never bridged, and an honest ± for all of it.
package clock

import (
	"time"

	"pushcue/timeline/timecode"
)

// An Anchor is one moment known on both clocks.
type Anchor struct {
	Name      string        // how the user would find it again: "anchor 2 (row 3)"
	Log       timecode.Log  //
	LogHalf   time.Duration // the written time may be off by this much either way
	Video     timecode.Video
	VideoHalf time.Duration // likewise for the recording's time
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
}

// A Segment is a stretch of the recording over which the log clock runs straight.
type Segment struct {
	From, To  timecode.Video
	LogAtFrom timecode.Log
	RatePPM   float64       // log clock against video: positive, the log clock runs fast
	Residual  time.Duration // root mean square of the anchors used; 0 where they can't tell
	Tied      bool          // false: nothing ties this stretch, rows in it stay unplaced
}

// A Fit is the log clock tied to the recording.
type Fit struct {
	Basis    Basis
	Segments []Segment
}
