package ffmpeg

import (
	"context"
	"io"
	"time"

	ff "github.com/u2takey/ffmpeg-go"
)

// A Run is one call of ffmpeg: either Outputs or Args.
type Run struct {
	Outputs []*ff.Stream // what Output and OutputPipe made
	Args    []string     // a ready command line, without the global options; used when Outputs is empty

	// Files are put into the private folder that the run works in, under these
	// names: a filter can then say ass=place.ass whatever the real path holds.
	// Names are plain: letters, digits, '.', '_', '-'; "fonts/dejavu.ttf" makes a folder.
	Files    map[string]string // name -> path
	Contents map[string][]byte // name -> what is in it

	// Stdout reads what goes to pipe:1. It sees io.EOF only once ffmpeg has ended
	// well; otherwise its last read fails with ffmpeg's error.
	Stdout func(io.Reader) error

	Progress func(Progress) // called about twice a second; may be nil
	Stall    time.Duration  // without any sign of life for so long the run has failed; 0: one minute
}

// Progress is how far a run is.
type Progress struct {
	Frame int64         // frames written to the first output
	Time  time.Duration // written to the furthest output
	Speed float64       // of real time; 0 when unknown
	Done  bool
}

// Result is what a run came to.
type Result struct {
	Frames   int64  // written to the first output with pictures
	Warnings string // the end of what ffmpeg said at level error; "" when nothing
}

// Do runs ffmpeg to its end. When ctx ends, ffmpeg is asked to stop, then killed,
// and the error is ctx's. Other errors are *Error.
func (t *Tools) Do(ctx context.Context, r Run) (Result, error) {
	return Result{}, nil
}
