package overlay

import (
	"fmt"

	ffmpeg "github.com/u2takey/ffmpeg-go"
)

// Burn names what the burn reads, relative to the folder that ffmpeg runs in.
// The names are ours, never a user's: letters, digits, dot and slash.
type Burn struct {
	Script string // holds what Script.WriteTo wrote
	Fonts  string // a folder that holds FontFile and nothing else: libass reads all of it
}

// Graph scales the picture where it must be, sets it into the whole and burns the
// script in. The stream's times must be those of the recording (first frame
// shown of the first part at zero), since captions go by them.
//
// Nothing is scaled unless the layout had to: the picture's own samples pass
// through. The colours added are greys, right in every colour matrix.
func (l *Layout) Graph(in *ffmpeg.Stream, b Burn) *ffmpeg.Stream {
	s := in
	if l.Picture.Dx() != l.spec.Width || l.Picture.Dy() != l.spec.Height {
		s = s.Filter("scale", ffmpeg.Args{fmt.Sprint(l.Picture.Dx()), fmt.Sprint(l.Picture.Dy())},
			ffmpeg.KwArgs{"flags": "bicubic"}).Filter("setsar", ffmpeg.Args{"1"})
	}
	if l.Width != l.Picture.Dx() || l.Height != l.Picture.Dy() {
		s = s.Filter("pad", ffmpeg.Args{fmt.Sprint(l.Width), fmt.Sprint(l.Height),
			fmt.Sprint(l.Picture.Min.X), fmt.Sprint(l.Picture.Min.Y)},
			ffmpeg.KwArgs{"color": fmt.Sprintf("0x%02X%02[1]X%02[1]X", groundLevel)})
	}
	if l.Place.Rows+l.Notes.Rows == 0 {
		return s
	}
	if l.Slow > 1 {
		s = s.Filter("setpts", ffmpeg.Args{fmt.Sprintf("PTS*%d", l.Slow)})
	}
	s = s.Filter("ass", ffmpeg.Args{b.Script}, ffmpeg.KwArgs{"fontsdir": b.Fonts})
	if l.Slow > 1 {
		s = s.Filter("setpts", ffmpeg.Args{fmt.Sprintf("PTS/%d", l.Slow)})
	}
	return s
}
