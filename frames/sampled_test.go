package frames

import (
	"image"
	"testing"

	"pushcue/internal/ffmpeg"
)

func TestWhereAnAreaOfTheStoredPictureIsShown(t *testing.T) {
	part := func(w, h, turned, num, den int) Part {
		v := ffmpeg.VideoStream{Width: w, Height: h, Rotation: turned}
		v.SAR.Num, v.SAR.Den = num, den
		return Part{Media: &ffmpeg.Media{Video: v}}
	}
	rec := &Recording{Width: 768, Height: 576, Parts: []Part{
		part(720, 576, 0, 16, 15), part(320, 240, 0, 1, 1), part(320, 320, 0, 1, 1), part(240, 320, 90, 1, 1),
	}}
	for k, c := range []struct{ stored, shown image.Rectangle }{
		{image.Rect(0, 0, 720, 576), image.Rect(0, 0, 768, 576)},
		{image.Rect(10, 20, 110, 40), image.Rect(24, 48, 264, 96)},
		{image.Rect(0, 0, 320, 320), image.Rect(96, 0, 672, 576)}, // black beside it
		{image.Rect(10, 20, 110, 40), image.Rect(24, 48, 264, 96)},
	} {
		if got := rec.Shown(k, c.stored); got != c.shown {
			t.Errorf("part %d: %v is shown at %v, want %v", k, c.stored, got, c.shown)
		}
	}
}
