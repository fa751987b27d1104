package clock

import (
	"math"
	"testing"
	"time"

	"pushcue/timeline/timecode"
)

// likely are ways of which one stands out: at 30 min the log's clock showed 131 s
// more than that, give or take sd seconds, and it runs at rate, give or take rateSD.
func likely(sd, rate, rateSD float64) *Likely {
	w := &Likely{Middle: timecode.VideoSeconds(1800), First: logAt(131 + 1800 - 20), Step: timecode.LogSeconds(0.5)}
	for i := -20; i <= 20; i++ {
		r := float64(i) * 75 * ppm
		logs := make([]float64, 81)
		for j := range logs {
			off, fast := (float64(j)*0.5-20)/sd, (r-rate)/rateSD
			logs[j] = -(off*off + fast*fast) / 2
		}
		w.Rates, w.Logs = append(w.Rates, r), append(w.Logs, logs)
	}
	return w
}

func TestFromLikely(t *testing.T) {
	for name, c := range map[string]struct {
		ways      *Likely
		rate, end float64 // ± at either end, s
	}{
		"offset and rate told": {likely(1, 600*ppm, 100*ppm), 600 * ppm, 1.96 * math.Hypot(1, 1800*100*ppm)},
		"a rate nobody knows":  {likely(0.8, 0, 1), 0, 2.2},
	} {
		f := FromLikely(recording(60), []*Likely{c.ways}, Track, Options{Zone: time.UTC})
		for _, v := range []float64{0, 3600} {
			l, half, ok := f.Log(timecode.VideoSeconds(v))
			want := logAt(131 + v + c.rate*(v-1800))
			if off := l.Sub(want).Seconds(); !ok || math.Abs(off) > 0.15 {
				t.Errorf("%s: off by %.2f s at %.0f s", name, off, v)
			}
			if h := half.Seconds(); h < 0.85*c.end || name != "a rate nobody knows" && h > 1.15*c.end {
				t.Errorf("%s: ± %.2f s at %.0f s, want %.2f", name, h, v, c.end)
			}
		}
	}
}

func TestFromLikelyLeavesAPartUntiedOfWhichNothingIsLikely(t *testing.T) {
	none := likely(1, 0, 1)
	for _, logs := range none.Logs {
		for j := range logs {
			logs[j] = math.Inf(-1)
		}
	}
	f := FromLikely(recording(10, 60), []*Likely{nil, none}, Track, Options{})
	for _, s := range f.Segments {
		if s.Tied {
			t.Errorf("tied: %+v", s)
		}
	}
}
