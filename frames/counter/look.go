package counter

import (
	"image"
	"math"
)

// A sight is one strip as seen by the reader.
type sight struct {
	layout   int // -1: nothing
	signs    []int8
	better   float64 // than the background, in nats
	margin   float64 // of the least sure digit
	rival    float64 // how much better than the best other layout
	bad      float64 // of the worst cell, by what is usual: 0 as usual
	negative bool
	sign     float64 // how sure the minus, or its absence, is
}

// temper is what a pixel's say is worth: neighbours say the same.
const temper = 1.0 / 6

// What a sight must have to be believed by itself.
const (
	sureMargin = 4.0
	sureRival  = 3.0
	sureSign   = 2.0
	worstFit   = 4.0
)

func (s *sight) sure() bool {
	return s.layout >= 0 && s.margin > sureMargin && s.rival > sureRival && s.sign > sureSign && s.bad < worstFit && s.better*temper > 3*float64(len(s.signs))
}

// clear is enough to learn from.
func (s *sight) clear() bool {
	return s.layout >= 0 && s.margin > sureMargin/2 && s.rival > sureRival/2 && s.bad < worstFit
}

func (r *reader) lookAll(sh *sheet) []sight {
	all := make([]sight, len(sh.strips))
	for i, img := range sh.strips {
		all[i] = r.look(img)
	}
	return all
}

// A cellSeen is what one cell may show.
type cellSeen struct {
	sign   int8    // the best
	fit    float64 // its
	margin float64 // over the best sign of another digit
	bad    float64
}

func (r *reader) see(img *image.Gray, c cellAt) cellSeen {
	seen := cellSeen{sign: -1, fit: math.Inf(-1)}
	var fits [mostSigns]float64
	for i, s := range r.signs {
		fits[i] = math.Inf(-1)
		if !s.known {
			continue
		}
		better, bad := s.fit(img, c, r.ground)
		fits[i] = better
		if better > seen.fit {
			seen.sign, seen.fit, seen.bad = int8(i), better, s.badness(bad)
		}
	}
	next := math.Inf(-1)
	for i, s := range r.signs {
		if seen.sign >= 0 && s.digit != r.signs[seen.sign].digit {
			next = max(next, fits[i])
		}
	}
	seen.margin = (seen.fit - next) * temper
	return seen
}

// badness is how far a fit is worse than usual, in usual spreads.
func (m *model) badness(bad float64) float64 {
	if m.unusual <= 0 {
		return bad - 1
	}
	return (bad - m.usual) / m.unusual
}

// look reads one strip.
func (r *reader) look(img *image.Gray) sight {
	cache := map[cellAt]cellSeen{}
	see := func(c cellAt) cellSeen {
		seen, ok := cache[c]
		if !ok {
			seen = r.see(img, c)
			cache[c] = seen
		}
		return seen
	}
	s := sight{layout: -1, better: math.Inf(-1), margin: math.Inf(1), sign: math.Inf(1)}
	second := math.Inf(-1)
	for i, l := range r.layout {
		if r.fixed > 0 && l.whole != r.fixed {
			continue
		}
		sum := 0.0
		for _, c := range l.cells {
			sum += see(c).fit
		}
		if sum > s.better {
			second = s.better
			s.layout, s.better = i, sum
		} else if sum > second {
			second = sum
		}
	}
	if s.layout < 0 || math.IsInf(s.better, 0) {
		return sight{layout: -1}
	}
	s.rival = (s.better - second) * temper
	for _, c := range r.layout[s.layout].cells {
		seen := see(c)
		s.signs = append(s.signs, seen.sign)
		s.margin = min(s.margin, seen.margin)
		s.bad = max(s.bad, seen.bad)
	}
	r.lookForMinus(img, &s)
	return s
}
