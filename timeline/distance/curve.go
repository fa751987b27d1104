package distance

import (
	"sort"
	"time"

	"gonum.org/v1/gonum/interp"

	"pushcue/timeline/timecode"
)

// A curve is a monotone piecewise cubic through knots: between two of them it
// never leaves the range of their values, and it's flat between equal ones.
// The rule is that of F. N. Fritsch and J. Butland, A method for constructing
// local monotone piecewise cubic interpolants, SIAM J. Sci. Stat. Comput. 5 (1984).
type curve struct {
	times  []timecode.Video // knots, ascending
	y      []Metres
	cubic  interp.FritschButland // unfitted with one knot
	ranges []valueRange          // a tree over the pieces: see touching
}

// tooClose is the least time between two knots: nearer ones are taken as one,
// at their mean, since a slope across a nanosecond means nothing.
const tooClose = time.Millisecond

func newCurve(rs []Reading, places []Metres) *curve {
	c := &curve{}
	for i := 0; i < len(rs); {
		sum, n := Metres(0), 0
		first := rs[i].At
		for ; i < len(rs) && rs[i].At.Sub(first) < tooClose; i++ {
			sum, n = sum+places[i], n+1
		}
		c.times, c.y = append(c.times, first), append(c.y, sum/Metres(n))
	}
	if len(c.y) < 2 {
		return c
	}
	xs, ys := make([]float64, len(c.y)), make([]float64, len(c.y))
	for i := range c.y {
		xs[i], ys[i] = c.times[i].Seconds(), float64(c.y[i])
	}
	// Fit's only error is nil; it panics on what the loop above rules out.
	_ = c.cubic.Fit(xs, ys)
	c.ranges = make([]valueRange, 4*len(c.y))
	c.grow(1, 0, len(c.y)-1)
	return c
}

// at is the curve's value, held flat outside its knots: the callers know where
// it means something.
func (c *curve) at(v timecode.Video) Metres {
	i := sort.Search(len(c.times), func(i int) bool { return c.times[i] > v })
	switch {
	case i == 0:
		return c.y[0]
	case i == len(c.y):
		return c.y[i-1]
	}
	low, high := min(c.y[i-1], c.y[i]), max(c.y[i-1], c.y[i])
	return min(max(Metres(c.cubic.Predict(v.Seconds())), low), high)
}

// cross is when the curve reaches d between two moments of one monotone piece,
// to a millisecond. d must lie between the values at both.
func (c *curve) cross(from, to timecode.Video, d Metres) timecode.Video {
	rising := c.at(to) >= c.at(from)
	for to.Sub(from) > time.Millisecond {
		middle := from + (to-from)/2
		if (c.at(middle) < d) == rising {
			from = middle
		} else {
			to = middle
		}
	}
	return from + (to-from)/2
}

// touching calls visit with each piece of the curve that shares a moment with
// from … to and has a value in low … high, in order, until it returns false. A
// tree of ranges finds them without walking hours of readings for each question.
func (c *curve) touching(low, high Metres, from, to timecode.Video, visit func(piece int) bool) bool {
	q := question{valueRange{low, high}, from, to, visit}
	return c.descend(1, 0, len(c.y)-1, &q)
}

type question struct {
	valueRange
	from, to timecode.Video
	visit    func(piece int) bool
}

func (c *curve) descend(node, first, last int, q *question) bool {
	if r := c.ranges[node]; r.high < q.low || r.low > q.high || c.times[last] < q.from || c.times[first] > q.to {
		return true
	}
	if last-first == 1 {
		return q.visit(first)
	}
	middle := (first + last) / 2
	return c.descend(2*node, first, middle, q) && c.descend(2*node+1, middle, last, q)
}

type valueRange struct{ low, high Metres }

// grow fills the range of a node of the tree: the root is node 1, the pieces
// from … to belong to it.
func (c *curve) grow(node, from, to int) valueRange {
	var r valueRange
	if to-from == 1 {
		r = valueRange{min(c.y[from], c.y[to]), max(c.y[from], c.y[to])}
	} else {
		middle := (from + to) / 2
		a, b := c.grow(2*node, from, middle), c.grow(2*node+1, middle, to)
		r = valueRange{min(a.low, b.low), max(a.high, b.high)}
	}
	c.ranges[node] = r
	return r
}
