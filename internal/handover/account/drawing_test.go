package account

import (
	"testing"

	"pushcue/timeline"
)

// A span is covered clockwise; through the bottom, where the wall is cut, it comes
// in two pieces.
func TestCoverageRunsClockwise(t *testing.T) {
	for name, c := range map[string]struct {
		from, to float64
		want     [][2]float64 // from the wall's top edge, as a share of its height
	}{
		"upper half 9 to 3": {9, 3, [][2]float64{{0.25, 0.75}}},
		"lower half 3 to 9": {3, 9, [][2]float64{{0.75, 1}, {0, 0.25}}},
		"right 1 to 5":      {1, 5, [][2]float64{{7.0 / 12, 11.0 / 12}}},
		"crown alone":       {12, 12, [][2]float64{{0.47, 0.53}}},
		"bottom alone":      {6, 6, [][2]float64{{0, 0.03}, {0.97, 1}}},
	} {
		t.Run(name, func(t *testing.T) {
			got := coverage(timeline.DocumentObservation{ClockFrom: &c.from, ClockTo: &c.to}, 0, 1)
			if len(got) != len(c.want) {
				t.Fatalf("got %v", got)
			}
			for i, b := range got {
				if w := c.want[i]; abs(b.Y/wallHeight-w[0]) > 1e-9 || abs((b.Y+b.H)/wallHeight-w[1]) > 1e-9 {
					t.Errorf("piece %d: got %.3f to %.3f, want %v", i, b.Y/wallHeight, (b.Y+b.H)/wallHeight, w)
				}
			}
		})
	}
}

func TestNumbersOnTheDrawingNeverOverlap(t *testing.T) {
	var marks []Mark
	for i := range 60 {
		marks = append(marks, Mark{X: wallLeft + float64(i*i%37)*3})
	}
	placeLabels(marks)
	for i, a := range marks {
		for _, b := range marks[:i] {
			if a.LabelY == b.LabelY && abs(a.LabelX-b.LabelX) < 26 {
				t.Fatalf("numbers at %.0f and %.0f of row %.0f overlap", a.LabelX, b.LabelX, a.LabelY)
			}
		}
	}
}

func abs(f float64) float64 { return max(f, -f) }
