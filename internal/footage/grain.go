package footage

import (
	"math"
	"math/rand/v2"
)

// A grain is a sensor's noise, and what a worn tape adds to it.
type grain struct {
	noise  []int8
	tapeOf []float64
	rand   *rand.Rand
}

func newGrain(rec Recorder, r *rand.Rand) *grain {
	g := &grain{noise: make([]int8, 1<<16), rand: rand.New(rand.NewPCG(r.Uint64(), r.Uint64()))}
	last := 0.0
	for i := range g.noise {
		last = 0.45*last + r.NormFloat64()
		g.noise[i] = int8(math.Round(rec.Grain * last))
	}
	return g
}

// sprinkle adds noise to a row, more the harder the camera has to try.
func (g *grain) sprinkle(row []byte, gain float64) {
	from := int(g.rand.Uint32()) & 0x7FFF
	noise := g.noise[from : from+len(row)]
	more := int(256 * min(gain, 2))
	for x := range row {
		row[x] = uint8(min(max(int(row[x])+int(noise[x])*more>>8, 16), 235))
	}
}

// tape shifts lines, drops some, and tears those at the foot.
func (p *Shoot) tape() {
	bad := p.rec.Tape
	if bad <= 0 {
		return
	}
	g, w := p.grain, p.rec.Width
	drift := 0.0
	for y := range p.rec.Height {
		row := p.frame[y*w : (y+1)*w]
		drift = 0.9*drift + bad*0.9*g.rand.NormFloat64()
		by := int(drift)
		if y > p.rec.Height-8 {
			by += int(float64(y-p.rec.Height+8) * 6 * bad)
		}
		shift(row, by)
		if g.rand.Float64() < 0.006*bad {
			from := g.rand.IntN(w)
			for x := from; x < min(w, from+20+g.rand.IntN(120)); x++ {
				row[x] = uint8(180 + g.rand.IntN(55))
			}
		}
	}
}

// shift moves a row sideways; what comes in repeats its edge.
func shift(row []byte, by int) {
	by = min(max(by, -len(row)/4), len(row)/4)
	switch {
	case by > 0:
		copy(row[by:], row[:len(row)-by])
		for x := range by {
			row[x] = row[by]
		}
	case by < 0:
		copy(row, row[-by:])
		for x := len(row) + by; x < len(row); x++ {
			row[x] = row[len(row)+by-1]
		}
	}
}
