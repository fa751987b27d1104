package counter_test

import (
	"image"

	"pushcue/timeline/timecode"
)

// A scribble is strips made of whatever bytes there are.
type scribble struct {
	pix    []byte
	bounds image.Rectangle
}

func (s *scribble) Bounds() image.Rectangle { return s.bounds }
func (s *scribble) Len() int                { return 24 }
func (s *scribble) At(i int) timecode.Video { return timecode.VideoSeconds(float64(i) / 5) }

func (s *scribble) Read(i int, into *image.Gray) error {
	for k := range into.Pix {
		into.Pix[k] = s.pix[(k+7*i)%len(s.pix)]
	}
	return nil
}
