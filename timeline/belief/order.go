package belief

import "math"

// A log is written down as things come: most rows follow, in the recording too, those
// above them (common practice, no published source). The order weighs as a factor
// between each row and the next: 1 where they follow, outOfOrder where they don't. Its
// sums are made by passing messages along the log (J. Pearl, Probabilistic reasoning
// in intelligent systems, 1988), on a grid of the recording.
const (
	outOfOrder  = 0.1
	atOnce      = 3.0 // seconds by which two rows may be out of order and still be at once
	messageGrid = 1500
)

// order multiplies the rows' beliefs by what their order tells.
func (q *Question) order(places []Place) {
	whole := q.Parts[len(q.Parts)-1].To
	n := min(messageGrid, max(2, int(whole/0.5)))
	step := whole / float64(n)
	message := func(p *Place, by []float64, on bool) []float64 {
		grid := make([]float64, n+1)
		var mass float64
		for i, s := range p.Share {
			v := p.From + p.Step*(float64(i)+0.5)
			s *= by[min(n, max(0, int(v/step)))]
			mass += s
			// What lies at v is followed by all from v − atOnce on, or comes after all up to v + atOnce.
			at := v - atOnce
			if !on {
				at = v + atOnce
			}
			grid[min(n, max(0, int(math.Round(at/step))))] += s
		}
		out := make([]float64, n+1)
		var below float64
		for k := range grid {
			i := k
			if !on {
				i = n - k
			}
			below += grid[i]
			out[i] = 1
			if mass > 0 {
				out[i] = outOfOrder + (1-outOfOrder)*below/mass
			}
		}
		return out
	}
	flat := make([]float64, n+1)
	for i := range flat {
		flat[i] = 1
	}
	before := make([][]float64, len(places))
	now := flat
	for i := range places {
		before[i] = now
		if len(places[i].Share) > 0 {
			now = message(&places[i], now, true)
		}
	}
	now = flat
	for i := len(places) - 1; i >= 0; i-- {
		p := &places[i]
		if len(p.Share) == 0 {
			continue
		}
		after := now
		now = message(p, after, false)
		p.times(func(v float64) float64 {
			k := min(n, max(0, int(v/step)))
			return before[i][k] * after[k]
		})
	}
}
