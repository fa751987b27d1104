package clock

import (
	"math"
	"slices"
	"strings"
)

// A search looks for the most probable explanation of the sightings.
type search struct {
	sightings []sighting
	parts     []Span
	finest    float64            // half-width in seconds of the best anchor, within 0.05 … 0.25
	seen      map[string]verdict // by explanation
}

func newSearch(ss []sighting, parts []Span) *search {
	s := &search{sightings: ss, parts: parts, finest: math.Inf(1), seen: map[string]verdict{}}
	for _, at := range ss {
		s.finest = min(s.finest, at.a+at.b)
	}
	s.finest = min(max(s.finest, 0.05), 0.25)
	return s
}

// best is the most probable explanation. The plain one, all anchors right and no
// pause, is taken without further search where it is possible with every anchor
// within its resolution; else the search climbs, one change of mind at a time,
// from it and from what the anchors look like at the rates that pairs of them have.
func (s *search) best() verdict {
	n := len(s.sightings)
	plain := explanation{make([]bool, n), make([]bool, n)}
	if v := s.judge(plain); s.clean(v) {
		return v
	}
	best := s.climb(plain)
	tried := map[string]bool{plain.key(): true}
	for i, rate := range s.rates() {
		if i > 0 && best.plain() {
			break // the anchors scatter, but they agree
		}
		e := s.runs(rate)
		if tried[e.key()] {
			continue
		}
		tried[e.key()] = true
		if v := s.climb(e); v.evidence > best.evidence {
			best = v
		}
	}
	return best
}

// clean: one line of an ordinary rate passes within every anchor's resolution.
func (s *search) clean(v verdict) bool {
	_, _, ok := passing(s.groups(v.explanation), 3*floor, mostRate)
	return ok && v.evidence > impossible
}

// plain: possible, with nobody wrong, no pause and an ordinary rate.
func (v verdict) plain() bool {
	return v.evidence > impossible && !v.uneven && count(v.aside) == 0 && count(v.paused) == 0
}

// climb changes one thing as long as that helps.
func (s *search) climb(e explanation) verdict {
	at := s.judge(e)
	for {
		next := at
		for _, e := range s.changes(at.explanation) {
			if v := s.judge(e); v.evidence > next.evidence {
				next = v
			}
		}
		if next.evidence <= at.evidence {
			return at
		}
		at = next
	}
}

// changes are the explanations that differ from e by one anchor's being believed
// or one pause.
func (s *search) changes(e explanation) []explanation {
	var out []explanation
	for i := range s.sightings {
		c := explanation{slices.Clone(e.aside), slices.Clone(e.paused)}
		c.aside[i] = !c.aside[i]
		out = append(out, c)
		if i > 0 && s.sightings[i].part == s.sightings[i-1].part {
			c := explanation{slices.Clone(e.aside), slices.Clone(e.paused)}
			c.paused[i] = !c.paused[i]
			out = append(out, c)
		}
	}
	return out
}

// rates are worth starting from: none, and those of pairs of anchors of a part,
// the farthest apart first, as far as they are possible at all.
func (s *search) rates() []float64 {
	out := []float64{0}
	n := len(s.sightings)
	most := 600 / n // a climb takes longer, the more anchors there are
	for gap := n - 1; gap > 0; gap-- {
		for i := 0; i+gap < n && len(out) < most; i++ {
			a, b := s.sightings[i], s.sightings[i+gap]
			if a.part != b.part || b.x <= a.x {
				continue
			}
			if rate := (b.y - a.y) / (b.x - a.x); math.Abs(rate) <= mostSkew {
				out = append(out, rate)
			}
		}
	}
	return out
}

// runs is what the anchors look like at a rate: those that follow each other on
// one line belong together, a line to itself is a mistake, and a step up between
// two lines is a pause.
func (s *search) runs(rate float64) explanation {
	n := len(s.sightings)
	e := explanation{make([]bool, n), make([]bool, n)}
	offset := func(i int) float64 { return s.sightings[i].y - rate*s.sightings[i].x }
	last := -1 // the last anchor that belonged to a run
	for from := 0; from < n; {
		to := from + 1
		for to < n && s.sightings[to].part == s.sightings[from].part && near(s.sightings[to-1], s.sightings[to], offset(to)-offset(to-1)) {
			to++
		}
		part := s.sightings[from].part
		alone := to-from == 1 && (last >= 0 && s.sightings[last].part == part || to < n && s.sightings[to].part == part)
		switch first := from == 0 || s.sightings[from-1].part != part; {
		case alone && !(first && to < n && offset(to) > offset(from)):
			e.aside[from] = true
		default:
			e.paused[from] = last >= 0 && s.sightings[last].part == part &&
				!near(s.sightings[last], s.sightings[from], offset(from)-offset(last))
			last = to - 1
		}
		from = to
	}
	return e
}

// near says whether two anchors whose offsets differ by d seconds can lie on one line.
func near(a, b sighting, d float64) bool { return math.Abs(d) <= 1+a.a+a.b+b.a+b.b }

// settle decides between a best explanation that sets anchors aside and its
// rivals: where others could as well be the wrong ones, it is better to believe
// all, if they can be believed at all, and let their scatter widen the ±. ok is
// false where that isn't possible either.
func (s *search) settle(best verdict) (verdict, []verdict, bool) {
	rivals := s.rivals(best)
	if len(rivals) == 0 {
		return best, nil, true
	}
	all := verdict{evidence: impossible}
	for _, v := range s.seen {
		if count(v.aside) == 0 && (v.evidence > all.evidence || v.evidence == all.evidence && v.key() < all.key()) {
			all = v
		}
	}
	return all, append(rivals, best), all.evidence > max(impossible, best.evidence-5)
}

// rivals are explanations that set as many other anchors aside and are nearly as
// probable: nothing tells which anchors are wrong.
func (s *search) rivals(best verdict) []verdict {
	var out []verdict
	if count(best.aside) == 0 {
		return nil
	}
	for _, v := range s.seen {
		if count(v.aside) == count(best.aside) && !slices.Equal(v.aside, best.aside) && v.evidence > best.evidence-math.Log(6) {
			out = append(out, v)
		}
	}
	slices.SortFunc(out, func(a, b verdict) int { return strings.Compare(a.key(), b.key()) })
	return out
}
