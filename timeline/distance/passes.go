package distance

import (
	"iter"
	"math"
	"slices"

	"pushcue/timeline/timecode"
)

// A Pass is a time during which the camera was at a place.
type Pass struct {
	From, To timecode.Video // within the tolerance all that time
	At       timecode.Video // the middle of its stand; else when it was nearest to the place
	Stood    bool
	Stand    Stand // set when Stood
	About    bool  // it lies in a long gap between readings: the moment is a guess
}

// When tells every time the camera was within tol of d, in video order. None
// when it never was, as far as the readings tell. d counts as the counter did at that
// time, corrected but for Offset, since that's how a distance is written down.
func (t *Track) When(d, tol Metres) []Pass {
	return slices.Collect(t.Passes(d, tol, math.MinInt64, math.MaxInt64))
}

// Passes gives those passes that share a moment with from … to, in video order;
// what of a pass lies outside may be cut off.
func (t *Track) Passes(d, tol Metres, from, to timecode.Video) iter.Seq[Pass] {
	return func(yield func(Pass) bool) {
		if t == nil {
			return
		}
		if len(t.curve.y) == 1 {
			if at := t.curve.times[0]; from <= at && at <= to && (t.curve.y[0]-d).Abs() <= tol {
				yield(Pass{From: at, To: at, At: at})
			}
			return
		}
		t.collect(d, tol, from, to, yield)
	}
}

// collect joins the pieces of the curve that touch d into passes.
func (t *Track) collect(d, tol Metres, from, to timecode.Video, yield func(Pass) bool) {
	var open visit
	begun := false
	flush := func() bool { return !begun || yield(t.finish(open, tol, d)) }
	going := t.curve.touching(d-tol, d+tol, from, to, func(i int) bool {
		piece, ok := t.visitOf(i, d, tol)
		switch {
		case !ok:
		case begun && open.To == piece.From:
			open.join(piece)
		default:
			if !flush() {
				return false
			}
			open, begun = piece, true
		}
		return true
	})
	if going {
		flush()
	}
}

// A visit is a pass in the making: it remembers how near it came, and when.
type visit struct {
	Pass
	miss        Metres
	first, last timecode.Video // that near from … to
}

// visitOf is the part of piece i of the curve that lies within tol of d.
func (t *Track) visitOf(i int, d, tol Metres) (visit, bool) {
	c := t.curve
	from, to := c.times[i], c.times[i+1]
	if t.isLost(from + (to-from)/2) {
		return visit{}, false
	}
	v := visit{Pass: Pass{From: from, To: to, About: to.Sub(from) > t.gap}}
	low, high := min(c.y[i], c.y[i+1]), max(c.y[i], c.y[i+1])
	enter, leave := c.y[i], c.y[i+1]
	clamped := func(m Metres) Metres { return min(max(m, d-tol), d+tol) }
	if enter != clamped(enter) {
		v.From = c.cross(from, to, clamped(enter))
	}
	if leave != clamped(leave) {
		v.To = c.cross(from, to, clamped(leave))
	}
	switch nearest := min(max(d, low), high); {
	case low == high:
		v.first, v.last = from, to
	case nearest == enter:
		v.first, v.last = from, from
	case nearest == leave:
		v.first, v.last = to, to
	default:
		at := c.cross(from, to, d)
		v.first, v.last = at, at
	}
	v.miss = (min(max(d, low), high) - d).Abs()
	return v, true
}

// join adds the piece that follows. Of two it keeps the moment that came nearer,
// and one between readings close together before one in a gap.
func (v *visit) join(next visit) {
	const same = 1e-9
	v.To = next.To
	better := next.miss < v.miss-same
	switch {
	case v.About != next.About:
		better = v.About
		v.About = false
	case !better && next.miss <= v.miss+same && next.first == v.last:
		v.last = next.last
	}
	if better {
		v.miss, v.first, v.last = next.miss, next.first, next.last
	}
}

// finish settles the pass's moment: the middle of its longest stand there, else when it was nearest.
func (t *Track) finish(v visit, tol, d Metres) Pass {
	p := v.Pass
	p.At = v.first + (v.last-v.first)/2
	for _, s := range t.standsBetween(p.From, p.To) {
		if (s.Metres-d).Abs() <= tol && (!p.Stood || s.To-s.From > p.Stand.To-p.Stand.From) {
			// Of a stand that sways, only a part may lie within the tolerance.
			from, to := max(s.From, p.From), min(s.To, p.To)
			p.Stood, p.Stand, p.At = true, s, from+(to-from)/2
		}
	}
	return p
}
