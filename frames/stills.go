package frames

import (
	"image"
	"time"

	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// A Want asks for a still.
type Want struct {
	ID     int            // the caller's
	At     timecode.Video // of the exact frame
	Window time.Duration  // how far the best frame may be from it; 0: the exact one only
	Within *Stand         // the best frame lies within it, where the camera stood at At
}

// A Still is a picture taken.
type Still struct {
	ID      int
	Exact   Frame
	Best    Frame            // equals Exact unless another is clearly better
	Picture image.Image      // of Best, full size; *image.YCbCr with full-range BT.601 values, as JPEG has them
	Why     []words.Sentence // why Best is not Exact; empty when it is
}

// Moved is how much later than the exact frame the picture was taken.
func (s Still) Moved() time.Duration { return s.Best.At.Sub(s.Exact.At) }
