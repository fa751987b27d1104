package frames

import (
	"context"
	"image"
	"io"
	"time"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/internal/ffmpeg"
	"pushcue/timeline/timecode"
)

// A Want asks for a still.
type Want struct {
	ID     int            // the caller's
	At     timecode.Video // of the exact frame
	Window time.Duration  // how far the best frame may be from it; 0: the exact one only
}

// A Still is a picture taken.
type Still struct {
	ID      int
	Exact   Frame
	Best    Frame       // equals Exact unless another is clearly better
	Picture image.Image // of Best, full size; *image.YCbCr with full-range BT.601 values, as JPEG has them
	Why     []string    // why Best is not Exact, in plain sentences; empty when it is
}

// A Picker takes stills from pictures that pass by in one run: it is given the
// frames of all windows and keeps a few on disk, never in memory.
type Picker struct{}

// NewPicker plans the stills of one run. dir is where pictures may wait.
func (r *Recording) NewPicker(wants []Want, dir string) *Picker { return nil }

// Graph takes the wanted frames out of joined, which is Joined.Video or a split of it
// with every frame in it, as the raw pictures that Read expects at its output.
// nil when there is nothing to take.
func (p *Picker) Graph(joined *ff.Stream) *ff.Stream { return nil }

// OutputArgs are the options of the pipe output: ffmpeg.OutputPipe([]*ff.Stream{p.Graph(v)}, p.OutputArgs()).
func (p *Picker) OutputArgs() ff.KwArgs { return nil }

// Read takes the pictures from the pipe (it is Run.Stdout) and yields each still
// as soon as its window has passed.
func (p *Picker) Read(ctx context.Context, pictures io.Reader, yield func(Still) error) error {
	return nil
}

// Fetch takes stills by seeking, two at a time, for runs that burn nothing. yield is
// called for one still at a time, in no fixed order. dir is where pictures may wait.
func Fetch(ctx context.Context, tools *ffmpeg.Tools, r *Recording, wants []Want, dir string, yield func(Still) error) error {
	return nil
}
