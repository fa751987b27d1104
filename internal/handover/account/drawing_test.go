package account

import (
	"testing"

	"pushcue/internal/testpush"
	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
	"pushcue/timeline/wording"
	"pushcue/timeline/words"
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
			got := coverage(&fieldlog.ClockSpan{From: c.from, To: c.to}, false, 0, 1)
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

func TestTicksAreWrittenWithTheDecimalsTheyNeed(t *testing.T) {
	for _, c := range []struct {
		tag     string
		u, step float64
		want    string
	}{{"en", 3 * 0.2, 0.2, "0.6"}, {"de", 3 * 0.1, 0.1, "0,3"}, {"en", 12, 2, "12"}, {"en", 3 * 0.05, 0.05, "0.15"}, {"en", 200, 100, "200"}} {
		l, err := words.For(c.tag)
		if err != nil {
			t.Fatal(err)
		}
		if got := wording.In(l, nil).OnScale(c.u, c.step); got != c.want {
			t.Errorf("%v by %v: %q, want %q", c.u, c.step, got, c.want)
		}
	}
}

// A push whose counter begins at 8.2 m shows nothing of what lies before.
func TestOnlyWhatWasSeenIsDrawnAsSeen(t *testing.T) {
	var readings []distance.Reading
	for s := range 10 {
		readings = append(readings, distance.Reading{At: timecode.VideoSeconds(float64(s)), Shown: 8.2 + distance.Metres(s)/5, Source: distance.FromPicture})
	}
	p := Of(Input{Language: words.English(), Pushes: []Push{{Timeline: testpush.Timeline(t, jobsheet.Default(), readings, nil)}}}).Pushes[0]
	if p.Drawing == nil || len(p.Drawing.Unseen) == 0 {
		t.Fatal("nothing is drawn as not seen")
	}
	scale := (p.Drawing.Right - p.Drawing.Wall.X) / 10 // the axis ends at 10 m
	if first := p.Drawing.Unseen[0]; first.X != p.Drawing.Wall.X || abs(first.W-8.2*scale) > 0.5 {
		t.Errorf("not seen: %+v, want %.1f wide", first, 8.2*scale)
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
