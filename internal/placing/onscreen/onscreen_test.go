package onscreen

import (
	"reflect"
	"testing"

	"pushcue/frames"
	"pushcue/internal/ffmpeg"
)

func TestPartsOfOneSizeAreReadTogether(t *testing.T) {
	part := func(w, h, turned int) frames.Part {
		return frames.Part{Media: &ffmpeg.Media{Video: ffmpeg.VideoStream{Width: w, Height: h, Rotation: turned}}}
	}
	rec := &frames.Recording{Parts: []frames.Part{part(640, 480, 0), part(720, 576, 0), part(640, 480, 180), part(480, 640, 90), part(640, 480, 90)}}
	if got, want := Alike(rec), [][]int{{0, 2, 3}, {1}, {4}}; !reflect.DeepEqual(got, want) {
		t.Errorf("alike are %v, want %v", got, want)
	}
}
