package frames

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"
)

// The truth comes from the painter of the demo, which knows when the head moved. A
// stand shorter than two seconds, and the half second of coming to rest, may be missed.
func TestStandsAreFoundInThePictures(t *testing.T) {
	var truth struct {
		Frames []struct{ Stands bool }
	}
	text, err := os.ReadFile("../testdata/demo-truth.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &truth); err != nil {
		t.Fatal(err)
	}
	path, err := filepath.Abs("../testdata/demo/tramo1.mp4")
	if err != nil {
		t.Fatal(err)
	}
	rec := open(t, path)
	stands, err := rec.FindStands(context.Background(), tools(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	standing := func(i int) bool {
		for _, s := range stands {
			if s.From <= rec.Times[i] && rec.Times[i] <= s.To {
				return true
			}
		}
		return false
	}
	missed, invented, still := 0, 0, 0
	for i := range rec.Times {
		switch {
		case truth.Frames[i].Stands && !standing(i):
			missed++
		case !truth.Frames[i].Stands && standing(i):
			invented++
		}
		if truth.Frames[i].Stands {
			still++
		}
	}
	t.Logf("%d stands: of %d frames at rest %d missed, %d in motion taken for rest", len(stands), still, missed, invented)
	if len(stands) < 4 || missed*4 > still || invented*50 > len(rec.Times) {
		t.Errorf("%d stands: of %d frames at rest %d missed, %d in motion taken for rest", len(stands), still, missed, invented)
	}
}

func TestNoStandsWhereNothingTellsThem(t *testing.T) {
	moving, silent := &movement{}, &movement{}
	for i := range 100 {
		moving.levels = append(moving.levels, 8+float64(i%5))
		silent.levels = append(silent.levels, 0)
	}
	for name, m := range map[string]*movement{"always moving": moving, "never moving": silent} {
		if limit, ok := m.limit(); ok {
			t.Errorf("%s: parted at %v", name, limit)
		}
	}
}
