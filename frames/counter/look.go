package counter

import (
	"image"
	"math"
)

// A view is how well each sign matches each place of one strip: correlations,
// place by place, sign by sign.
type view struct {
	matches []float32
	minus   []float32 // by layout, that of a minus ahead of it
}

// view looks at one strip.
func (r *reader) view(img *image.Gray) view {
	n := len(r.signs)
	r.hideWalls(img)
	v := view{make([]float32, len(r.places)*n), make([]float32, len(r.layout))}
	for p, c := range r.places {
		r.match(img, c, v.matches[p*n:(p+1)*n])
	}
	for i := range r.layout {
		v.minus[i] = r.seeMinus(img, i)
	}
	return v
}

// hideWalls gets a strip's walls ready, level by level.
func (r *reader) hideWalls(img *image.Gray) {
	within := image.Rectangle{}
	for _, c := range r.places {
		within = within.Union(image.Rect(c.left-r.reach, r.grid.top, c.right+r.reach, r.grid.bottom))
	}
	for i, level := range r.levels {
		r.walls[i].hide(img, level, within)
	}
}

// inks hands over a cell's ink where it may stand and at each level.
func (r *reader) inks(img *image.Gray, c cellAt, do func(ink []float32)) {
	r.cuts(c, func(at cellAt, level int) {
		if ink, sum := at.cut(img, r.levels[level], r.scratch); inked(ink, sum) {
			do(ink)
		}
	})
}

// unwalled hands over, where a cell shows a wall, its ink without what that shows: of the
// letters' holes, and of all else.
func (r *reader) unwalled(c cellAt, do func(ink, walled []float32)) {
	r.cuts(c, func(at cellAt, level int) {
		w := &r.walls[level]
		if !w.shows(at) {
			return
		}
		ink, _ := at.cut(w.filled, r.levels[level], r.scratch)
		if walled, sum := at.cut(w.paper, r.levels[level], r.walled); inked(walled, sum) {
			do(ink, walled)
		}
	})
}

func (r *reader) cuts(c cellAt, do func(at cellAt, level int)) {
	for dx := -r.reach; dx <= r.reach; dx++ {
		at := c.moved(dx)
		if !at.inside(r.bounds) {
			continue
		}
		for i := range r.levels {
			do(at, i)
		}
	}
}

// plainMatch is a match from which on no wall need be thought away.
const plainMatch = 0.97

// match finds how well each sign suits a cell, at the level that suits it best.
func (r *reader) match(img *image.Gray, c cellAt, into []float32) {
	most := float32(0)
	r.inks(img, c, func(ink []float32) {
		for i := range r.signs {
			if s := &r.signs[i]; s.known {
				into[i] = max(into[i], s.match(ink))
				most = max(most, into[i])
			}
		}
	})
	if most > plainMatch {
		return
	}
	r.unwalled(c, func(ink, walled []float32) {
		for i := range r.signs {
			if s := &r.signs[i]; s.known {
				into[i] = max(into[i], s.match(s.apart(ink, walled, r.mixed)))
			}
		}
	})
}

// bestInk is the cell's ink as it suits a sign best.
func (r *reader) bestInk(img *image.Gray, c cellAt, s *sign) (best []float32, match float32) {
	best = make([]float32, c.pixels())
	keep := func(ink []float32) {
		if m := s.match(ink); m > match {
			match = m
			copy(best, ink)
		}
	}
	r.inks(img, c, keep)
	if match < plainMatch {
		r.unwalled(c, func(ink, walled []float32) { keep(s.apart(ink, walled, r.mixed)) })
	}
	sum := float32(0)
	for _, v := range best {
		sum += v
	}
	normalise(best, sum)
	return best, match
}

// A sight is one strip as seen by the reader.
type sight struct {
	layout   int // -1: nothing
	signs    []int8
	better   float64 // than nothing, in nats
	margin   float64 // of the least sure digit
	rival    float64 // how much better than the best other layout
	lack     float64 // what the worst cell lacks to the least that is believed
	negative bool
	sign     float64 // how sure the minus, or its absence, is
}

// What a sight must have to be believed by itself.
const (
	sureMargin = 4.0
	sureRival  = 3.0
	sureSign   = 2.0
	perLack    = 40.0 // more of a margin for what a match lacks
	mostLack   = 0.15
)

func (s *sight) sure() bool {
	return s.layout >= 0 && s.margin > sureMargin+perLack*max(s.lack, 0) && s.rival > sureRival && s.sign > sureSign && s.lack < mostLack
}

// clear is enough to learn from.
func (s *sight) clear() bool {
	return s.layout >= 0 && s.margin > sureMargin/2+perLack*max(s.lack, 0) && s.rival > sureRival/2 && s.lack < mostLack
}

func (r *reader) lookAll(sh *sheet) []sight {
	all := make([]sight, len(sh.strips))
	for i, img := range sh.strips {
		v := r.view(img)
		all[i] = r.sight(&v)
	}
	return all
}

// A cellSeen is what one cell may show.
type cellSeen struct {
	sign   int8    // the best
	fit    float64 // its, beyond what background may have by chance
	margin float64 // over the next best
	lack   float64
}

func (r *reader) see(v *view, place int) cellSeen {
	n := len(r.signs)
	pixels := r.places[place].pixels()
	seen := cellSeen{sign: -1}
	first, second := float32(0), float32(0)
	for i, m := range v.matches[place*n : (place+1)*n] {
		if m > first {
			first, second = m, first
			seen.sign = int8(i)
		} else if m > second {
			second = m
		}
	}
	if seen.sign >= 0 {
		m := r.signs[seen.sign].model
		seen.fit = nats(float64(first), pixels) - nats(0.75*m.usual, pixels)
		seen.margin = nats(float64(first), pixels) - nats(float64(second), pixels)
		seen.lack = m.least - float64(first)
	}
	return seen
}

// sight makes out what a view shows by itself.
func (r *reader) sight(v *view) sight {
	cells := make([]cellSeen, len(r.places))
	for p := range cells {
		cells[p] = r.see(v, p)
	}
	s := sight{layout: -1, margin: math.Inf(1), sign: math.Inf(1)}
	sums := make([]float64, len(r.layout))
	for i, l := range r.layout {
		if r.fixed > 0 && l.whole != r.fixed {
			continue
		}
		for _, p := range l.places {
			sums[i] += cells[p].fit
			if cells[p].sign < 0 {
				sums[i] = math.Inf(-1)
			}
		}
		if sums[i] > s.better {
			s.layout, s.better = i, sums[i]
		}
	}
	if s.layout < 0 {
		return s
	}
	for _, p := range r.layout[s.layout].places {
		s.signs = append(s.signs, cells[p].sign)
		s.margin = min(s.margin, cells[p].margin)
		s.lack = max(s.lack, cells[p].lack)
	}
	s.rival = s.better
	for i, l := range r.layout {
		if sums[i] > 0 && i != s.layout && !r.sameText(l, cells, s.signs, r.layout[s.layout].whole) {
			s.rival = min(s.rival, s.better-sums[i])
		}
	}
	for _, p := range r.layout[s.layout].beside {
		if c := cells[p]; c.sign >= 0 && c.fit > 0 && c.lack < mostLack {
			s.rival = 0 // digits stand beside these
		}
	}
	if m, known := r.minusAt(v, s.layout); known {
		s.negative = m > 0
		s.sign = math.Abs(m)
	}
	return s
}

func (r *reader) sameText(l layout, cells []cellSeen, signs []int8, whole int) bool {
	if l.whole != whole || len(l.places) != len(signs) {
		return false
	}
	for k, p := range l.places {
		if cells[p].sign != signs[k] {
			return false
		}
	}
	return true
}
