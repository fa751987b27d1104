package timeline

import (
	"fmt"
	"math/rand"
	"testing"

	"pushcue/internal/soak"
	"pushcue/timeline/timecode"
)

// drifting are pushes whose log's clock drifts against the recording: of those
// whose clock was found, at how many the ± held at the first and the last frame, and
// how many were off by more than 10 s at either.
type drifting struct{ pushes, sure, ends, held, gross int }

func drifted(t *testing.T, random *rand.Rand, pushes, rows int, length, drift float64) (d drifting) {
	for range pushes {
		in, began := untiedJob(t, random, rows+random.Intn(10), length)
		for i := range in.Log.Rows {
			m := in.Log.Rows[i].Time
			m.Log += timecode.LogSeconds(drift * m.Log.Sub(began).Seconds())
		}
		d.pushes++
		line := resolved(t, in)
		if line.Clock == nil {
			continue
		}
		d.sure++
		gross := 0
		for _, v := range []float64{0, length - 1} {
			l, half, _ := line.Clock.Log(timecode.VideoSeconds(v))
			off := l.Sub(began + timecode.LogSeconds(v*(1+drift))).Abs()
			d.ends++
			if off <= half {
				d.held++
			}
			if off.Seconds() > 10 {
				gross = 1
			}
		}
		d.gross += gross
	}
	return d
}

// However fast the log's clock runs against the recording, as far as clocks that tell
// the time do: of what is called sure the ± holds at both ends, in 90 to 99 of 100
// cases, and nothing is off by more than 10 s. Few pushes leave room for chance.
func TestClockFoundByTheTrackMayDrift(t *testing.T) {
	kinds := []struct {
		length float64
		rows   int
	}{{600, 9}, {600, 20}, {2400, 12}, {2400, 30}, {7200, 15}, {7200, 60}}
	pushes := soak.Count(1, 34) // of each kind
	low, high := 0.86, 1.0
	if soak.On() {
		low, high = 0.9, 0.99
	}
	judge := func(what string, d drifting) {
		held := float64(d.held) / float64(d.ends)
		text := fmt.Sprintf("%s: sure in %d of %d pushes, the ± held at %.1f %% of the ends, off by more than 10 s %d", what, d.sure, d.pushes, 100*held, d.gross)
		t.Log(text)
		if d.gross > 0 || held < low || held > high || d.sure*10 < d.pushes*8 {
			t.Error(text)
		}
	}
	random := rand.New(rand.NewSource(61))
	var all drifting
	for _, drift := range []float64{0, 150e-6, -300e-6, 300e-6, 600e-6, 1000e-6} {
		var d drifting
		for _, k := range kinds {
			d.add(drifted(t, random, pushes, k.rows, k.length, drift))
		}
		if d.ends >= 300 { // of fewer, one drift's share says nothing
			judge(fmt.Sprintf("%.0f ppm", drift*1e6), d)
		}
		all.add(d)
	}
	judge("all", all)
}

func (d *drifting) add(o drifting) {
	d.pushes, d.sure, d.ends, d.held, d.gross = d.pushes+o.pushes, d.sure+o.sure, d.ends+o.ends, d.held+o.held, d.gross+o.gross
}
