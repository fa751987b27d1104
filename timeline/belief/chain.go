package belief

import (
	"math"
	"slices"
	"sort"
)

// A cell is one state of the clock: the part that a row was seen in, and how far the
// log's clock is ahead of the recording's time there.
type cell struct {
	part  int
	ahead float64
	n     int // ahead in steps of the grid
}

// A chain is a hidden Markov model of the log's clock over what was written, in the
// order of the log's times: its states are cells, evenly spaced, some left out.
// Between two events the clock may wander (its drift), gain by a pause, or go on to a
// later part. Sums over all ways are made by the forward-backward algorithm
// (L. R. Rabiner, A tutorial on hidden Markov models, Proceedings of the IEEE 77 (1989)).
type chain struct {
	cells  []cell
	bounds []int // of each part's cells; one more than parts
	step   float64
	prior  float64 // of a cell, at the first event

	times  []float64 // of the events
	wander float64   // variance of the clock's wandering, in s² a second
	pauses float64   // how likely a pause is a second of log time; 0 where none is thought of
	known  []Span    // of log time: in them a pause is known

	fades map[float64][]float64 // by a gap's mean: exp(−n·step/mean)
	sums  []float64
}

// Gaps of the log's time between parts, and pauses inside one, last for seconds,
// minutes or hours (common practice, no published source): a mixture of exponential
// laws. Where a recorder goes on in a new file by itself, next to nothing is lost.
type gap struct{ mean, share float64 }

var (
	pauseGaps = []gap{{30, 0.3}, {300, 0.4}, {2400, 0.3}}
	partGaps  = []gap{{0.7, 0.15}, {30, 0.25}, {300, 0.35}, {2400, 0.25}}
)

// ahead is by how much longer than the time between two events a gap may be: the
// first of them may have been written that late.
const lateBeforeGap = 60.0

// newChain makes one of cells that are sorted by part, then by how far ahead.
func newChain(cells []cell, parts int, step, prior float64) *chain {
	c := &chain{cells: cells, step: step, prior: prior, bounds: make([]int, parts+1)}
	for p := range parts {
		c.bounds[p+1] = sort.Search(len(cells), func(i int) bool { return cells[i].part > p })
	}
	return c
}

// forward returns, for each event, how likely each cell is by what was written before
// it, and the logarithm of the likelihood of all. like(i) holds event i's likelihoods
// by cell, until it is called again.
func (c *chain) forward(like func(event int) []float64) (before [][]float64, evidence float64) {
	now := make([]float64, len(c.cells))
	for i := range now {
		now[i] = c.prior
	}
	for e := range c.times {
		if e > 0 {
			now = c.onward(now, e, false)
		}
		before = append(before, slices.Clone(now))
		var sum float64
		for i, l := range like(e) {
			now[i] *= l
			sum += now[i]
		}
		if sum <= 0 {
			return before, math.Inf(-1)
		}
		evidence += math.Log(sum)
		for i := range now {
			now[i] /= sum
		}
	}
	return before, evidence
}

// backward calls visit for each event, last first, with how likely each cell is by all
// that was written but the event itself; the shares sum to 1.
func (c *chain) backward(like func(event int) []float64, before [][]float64, visit func(event int, shares, own []float64)) {
	after := make([]float64, len(c.cells))
	for i := range after {
		after[i] = 1
	}
	shares := make([]float64, len(c.cells))
	for e := len(c.times) - 1; e >= 0; e-- {
		var sum, top float64
		for i := range shares {
			shares[i] = before[e][i] * after[i]
			sum += shares[i]
		}
		for i := range shares {
			shares[i] /= sum
		}
		own := like(e)
		visit(e, shares, own)
		for i, l := range own {
			after[i] *= l
			top = max(top, after[i])
		}
		for i := range after {
			after[i] /= top
		}
		if e > 0 {
			after = c.onward(after, e, true)
		}
	}
}

// onward moves shares from the event before e to e; back moves what is known of e to
// the event before it.
func (c *chain) onward(from []float64, e int, back bool) []float64 {
	passed := c.times[e] - c.times[e-1]
	most := passed + lateBeforeGap
	p := min(0.3, c.pauses*passed)
	for _, k := range c.known {
		if c.times[e-1] <= k.To && c.times[e] >= k.From {
			p = max(p, 0.5)
		}
	}
	to := make([]float64, len(from))
	for part := range len(c.bounds) - 1 {
		first, last := c.bounds[part], c.bounds[part+1]
		if first == last {
			continue
		}
		c.drift(to, from, first, last, 1-p, passed)
		if p > 0 {
			c.gain(to, from, first, last, first, last, pauseGaps, p, most, back)
		}
		for other := part + 1; other < len(c.bounds)-1; other++ {
			a, b := c.bounds[other], c.bounds[other+1]
			if back {
				c.gain(to, from, a, b, first, last, partGaps, 1, most, true)
			} else {
				c.gain(to, from, first, last, a, b, partGaps, 1, most, false)
			}
		}
	}
	return to
}

// drift adds the shares of a part's cells after the clock has wandered for a time: a
// kernel of three cells, as often as its variance needs.
func (c *chain) drift(to, from []float64, first, last int, factor, passed float64) {
	rest := c.wander * passed / (c.step * c.step)
	if rest <= 1e-6 {
		for i := first; i < last; i++ {
			to[i] += factor * from[i]
		}
		return
	}
	times := min(8, int(math.Ceil(rest/0.5)))
	out := min(0.25, rest/float64(times)/2)
	now := slices.Clone(from[first:last])
	for range times {
		next := make([]float64, len(now))
		for i, share := range now {
			next[i] += share * (1 - 2*out)
			for _, j := range []int{i - 1, i + 1} {
				if j >= 0 && j < len(now) && math.Abs(c.cells[first+j].ahead-c.cells[first+i].ahead) < 1.5*c.step {
					next[j] += share * out
				} else {
					next[i] += share * out
				}
			}
		}
		now = next
	}
	for i, share := range now {
		to[first+i] += factor * share
	}
}

// gain adds the shares of cells a … b after a gap of up to most seconds, in cells
// c0 … c1 of the same or a later part; back goes from the latter, d0 … d1, to the former.
func (c *chain) gain(to, from []float64, a, b, d0, d1 int, gaps []gap, factor, most float64, back bool) {
	least := 1 // a pause takes time, a new file needn't
	if a != d0 {
		least = 0
	}
	far := int(most/c.step) + 1
	for _, g := range gaps {
		fade := c.fade(g.mean)
		scale := factor * g.share * c.step / g.mean / (1 - math.Exp(-most/g.mean))
		if back {
			c.gainBack(to, from, a, b, d0, d1, least, far, scale, fade)
		} else {
			c.gainOn(to, from, a, b, d0, d1, least, far, scale, fade)
		}
	}
}

// fade is exp(−n·step/mean) by n, for all distances of two cells.
func (c *chain) fade(mean float64) []float64 {
	if f := c.fades[mean]; f != nil {
		return f
	}
	low, high := math.MaxInt, math.MinInt
	for _, one := range c.cells {
		low, high = min(low, one.n), max(high, one.n)
	}
	f := make([]float64, high-low+1)
	for n := range f {
		f[n] = math.Exp(-float64(n) * c.step / mean)
	}
	if c.fades == nil {
		c.fades, c.sums = map[float64][]float64{}, make([]float64, len(c.cells))
	}
	c.fades[mean] = f
	return f
}

// gainOn: to[j] += scale · Σ from[i]·fade[n_j − n_i] over least ≤ n_j − n_i < far, i of
// a … b, j of d0 … d1. Both are sorted: sums up to each i, faded to it, do it.
func (c *chain) gainOn(to, from []float64, a, b, d0, d1, least, far int, scale float64, fade []float64) {
	sums := c.sums
	for i := a; i < b; i++ {
		sums[i] = from[i]
		if i > a {
			sums[i] += sums[i-1] * fade[c.cells[i].n-c.cells[i-1].n]
		}
	}
	i, past := a-1, a-1
	for j := d0; j < d1; j++ {
		n := c.cells[j].n
		for i+1 < b && c.cells[i+1].n <= n-least {
			i++
		}
		for past+1 < b && c.cells[past+1].n <= n-far {
			past++
		}
		if i < a {
			continue
		}
		sum := sums[i] * fade[n-c.cells[i].n]
		if past >= a {
			sum -= sums[past] * fade[n-c.cells[past].n]
		}
		to[j] += scale * max(0, sum)
	}
}

// gainBack is the transpose: to[i] += scale · Σ from[j]·fade[n_j − n_i], j of a … b, i of d0 … d1.
func (c *chain) gainBack(to, from []float64, a, b, d0, d1, least, far int, scale float64, fade []float64) {
	sums := c.sums
	for j := b - 1; j >= a; j-- {
		sums[j] = from[j]
		if j < b-1 {
			sums[j] += sums[j+1] * fade[c.cells[j+1].n-c.cells[j].n]
		}
	}
	j, past := b, b
	for i := d1 - 1; i >= d0; i-- {
		n := c.cells[i].n
		for j-1 >= a && c.cells[j-1].n >= n+least {
			j--
		}
		for past-1 >= a && c.cells[past-1].n >= n+far {
			past--
		}
		if j >= b {
			continue
		}
		sum := sums[j] * fade[c.cells[j].n-n]
		if past < b {
			sum -= sums[past] * fade[c.cells[past].n-n]
		}
		to[i] += scale * max(0, sum)
	}
}
