package review

import (
	"bytes"
	"context"
	"image/jpeg"
	"testing"

	"pushcue/frames"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/reach"
	"pushcue/internal/testfootage"
)

// look reads the numbers of a film's frames, and when each is shown.
func look(t *testing.T, tools *ffmpeg.Tools, path string) (numbers []int, times []float64) {
	t.Helper()
	rec, err := frames.Open(t.Context(), tools, []*reach.Source{reach.Named(path, "film")}, frames.Options{})
	if err != nil {
		t.Fatal(err)
	}
	numbers = make([]int, len(rec.Times))
	var wants []frames.Want
	for i, at := range rec.Times {
		wants = append(wants, frames.Want{ID: i, At: at})
		times = append(times, at.Seconds())
	}
	err = frames.Fetch(context.WithoutCancel(t.Context()), tools, rec, wants, t.TempDir(), func(s frames.Still) error {
		numbers[s.ID], _ = testfootage.ReadNumber(s.Picture)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return numbers, times
}

// numberOn is the number that a picture (JPEG) carries.
func numberOn(t *testing.T, picture []byte) int {
	t.Helper()
	img, err := jpeg.Decode(bytes.NewReader(picture))
	if err != nil {
		t.Fatal(err)
	}
	n, ok := testfootage.ReadNumber(img)
	if !ok {
		t.Fatal("the picture carries no number")
	}
	return n
}
