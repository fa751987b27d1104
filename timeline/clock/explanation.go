package clock

import (
	"math"
	"slices"
	"strings"
)

// An explanation says which anchors to believe and before which of them the
// recording was paused. Anchors are in order of recording time.
type explanation struct {
	aside  []bool // this anchor is wrong
	paused []bool // the recording was paused between the anchor before and this one
}

// A verdict is how well an explanation fits.
type verdict struct {
	explanation
	evidence float64 // logarithm; -Inf: impossible
	uneven   bool    // only a recording that drops frames explains it
	scatters []scatter
}

// How probable a wrong anchor, a pause and a recorder that drops frames are before
// looking (no published source). Only the order of magnitude matters: all three
// are known by being off by many times an anchor's resolution.
const (
	wrongShare  = 0.01
	pauseShare  = 0.03
	unevenShare = 0.002
)

// lost is the logarithm of the density of a mistake or a pause of s seconds: from
// 2 s to some hours each doubling is as probable as the next, and what is shorter
// isn't worth calling either.
func lost(s float64) float64 { return -math.Log(2 * 9 * max(2, math.Abs(s))) }

const hour = 3600

// scatterShares says how much worse than written anchors are placed, as multiples
// of the finest one's resolution. Most are as good as written; that the rest isn't
// shows in how the anchors agree.
var scatterShares = []scatter{{0, 0.8}, {0.5, 0.08}, {1, 0.05}, {2, 0.035}, {4, 0.02}, {8, 0.015}}

// A search looks for the most probable explanation of the sightings.
type search struct {
	sightings []sighting
	parts     []Span
	finest    float64            // half-width in seconds of the best anchor
	seen      map[string]verdict // by explanation
}

func newSearch(ss []sighting, parts []Span) *search {
	s := &search{sightings: ss, parts: parts, finest: math.Inf(1), seen: map[string]verdict{}}
	for _, at := range ss {
		s.finest = min(s.finest, at.a+at.b)
	}
	s.finest = max(s.finest, 0.05)
	return s
}

// best is the most probable explanation. The plain one, all anchors right and no
// pause, is taken without further search where every anchor lies within its
// resolution; else the search climbs from it, and from what each pair of anchors
// says, by changing its mind about one or two anchors at a time.
func (s *search) best() verdict {
	n := len(s.sightings)
	plain := explanation{make([]bool, n), make([]bool, n)}
	if v := s.judge(plain); s.clean(v) {
		return v
	}
	best := s.climb(plain, n <= 16)
	for _, e := range s.pairs() {
		if v := s.climb(e, false); v.evidence > best.evidence {
			best = v
		}
	}
	return best
}

// climb changes one thing (or two, if thorough) as long as that helps.
func (s *search) climb(e explanation, thorough bool) verdict {
	at := s.judge(e)
	for {
		next := at
		s.changes(at.explanation, func(e explanation) {
			if v := s.judge(e); v.evidence > next.evidence {
				next = v
			}
			if thorough {
				s.changes(e, func(e explanation) {
					if v := s.judge(e); v.evidence > next.evidence {
						next = v
					}
				})
			}
		})
		if next.evidence <= at.evidence {
			return at
		}
		at = next
	}
}

// changes visits the explanations that differ from e by one thing.
func (s *search) changes(e explanation, visit func(explanation)) {
	for i := range s.sightings {
		c := explanation{slices.Clone(e.aside), slices.Clone(e.paused)}
		c.aside[i] = !c.aside[i]
		visit(c)
		if i > 0 && s.sightings[i].part == s.sightings[i-1].part {
			c := explanation{slices.Clone(e.aside), slices.Clone(e.paused)}
			c.paused[i] = !c.paused[i]
			visit(c)
		}
	}
}

// pairs are starting points for the climb: each believes what agrees with two
// anchors of a part at a rate that clocks have.
func (s *search) pairs() []explanation {
	n := len(s.sightings)
	most := 600 / n // each climb costs more, the more anchors there are
	var out []explanation
	for gap := n - 1; gap > 0 && len(out) < most; gap-- {
		for i := 0; i+gap < n && len(out) < most; i++ {
			a, b := s.sightings[i], s.sightings[i+gap]
			if a.part != b.part || b.x <= a.x {
				continue
			}
			rate := (b.y - a.y) / (b.x - a.x)
			rate = max(-mostRate, min(mostRate, rate))
			e := explanation{make([]bool, n), make([]bool, n)}
			for k, at := range s.sightings {
				off := at.y - a.y - rate*(at.x-a.x)
				e.aside[k] = at.part == a.part && math.Abs(off) > 1+at.a+at.b+a.a+a.b
			}
			out = append(out, e)
		}
	}
	return out
}

// clean: every anchor within its resolution at an ordinary rate.
func (s *search) clean(v verdict) bool {
	if math.IsInf(v.evidence, -1) || v.uneven {
		return false
	}
	groups := s.groups(v.explanation)
	e := leastSquares(weigh(groups, 0), 1/(quartz[0].sd*quartz[0].sd))
	return s.within(e, groups, 0)
}

// groups are the believed sightings between pauses and parts.
func (s *search) groups(e explanation) [][]sighting {
	var groups [][]sighting
	pause := false
	for i, at := range s.sightings {
		pause = pause || e.paused[i]
		if e.aside[i] {
			continue
		}
		last := len(groups) - 1
		if last < 0 || pause || groups[last][0].part != at.part {
			groups = append(groups, nil)
			last++
		}
		groups[last] = append(groups[last], at)
		pause = false
	}
	return groups
}

// judge weighs one explanation over all rates and scatters.
func (s *search) judge(e explanation) verdict {
	key := e.key()
	if v, ok := s.seen[key]; ok {
		return v
	}
	v := verdict{explanation: e, evidence: math.Inf(-1)}
	if prior, ok := s.allowed(e); ok {
		groups := s.groups(e)
		ordinary, scatters := s.weighScatters(e, groups, quartz, mostRate)
		v.evidence, v.scatters = ordinary, scatters
		if spare(groups) >= 1 {
			skewed, scatters := s.weighScatters(e, groups, uneven, mostSkew)
			if skewed += math.Log(unevenShare); skewed > v.evidence {
				v.evidence, v.scatters, v.uneven = skewed, scatters, true
			}
		}
		v.evidence += prior
	}
	s.seen[key] = v
	return v
}

// allowed says whether the explanation is one a person would accept: most anchors
// are believed, and a pause has an anchor before it and two after it. prior is the
// logarithm of how probable its mistakes and pauses are.
func (s *search) allowed(e explanation) (prior float64, ok bool) {
	wrong := 0
	for _, a := range e.aside {
		if a {
			wrong++
			prior += math.Log(wrongShare)
		}
	}
	if 2*wrong >= len(e.aside) {
		return 0, false
	}
	groups := s.groups(e)
	used := 0
	for _, p := range e.paused {
		if p {
			used--
		}
	}
	for g := 1; g < len(groups); g++ {
		if groups[g][0].part == groups[g-1][0].part {
			prior += math.Log(pauseShare)
			used++
			if len(groups[g]) < 2 {
				return 0, false
			}
		}
	}
	return prior, used == 0 // else a pause stands where it separates nothing
}

// weighScatters sums the evidence over the rate's ideas and the scatters, and
// returns the scatters with their shares as the anchors leave them.
func (s *search) weighScatters(ex explanation, groups [][]sighting, ideas []drift, most float64) (evidence float64, kept []scatter) {
	logs := make([]float64, 0, len(scatterShares))
	evidence = math.Inf(-1)
	for _, sc := range scatterShares {
		sigma := sc.sigma * s.finest
		points := weigh(groups, sigma)
		log := math.Inf(-1)
		for _, idea := range ideas {
			prior := 1 / (idea.sd * idea.sd)
			e := leastSquares(points, prior)
			if math.Abs(e.slope) <= most && s.within(e, groups, sigma) && s.forward(e, groups) {
				log = logSum(log, e.evidence(points, prior)+s.amiss(ex, e, groups)+math.Log(idea.share))
			}
		}
		logs = append(logs, log+math.Log(sc.share))
		evidence = logSum(evidence, log+math.Log(sc.share))
	}
	for i, sc := range scatterShares {
		if logs[i]-evidence > math.Log(0.003) {
			kept = append(kept, scatter{sc.sigma * s.finest, sc.share})
		}
	}
	return evidence, kept
}

// amiss is the logarithm of the density of all mistakes and pauses in e. Every
// stretch that a pause doesn't begin may be off by anything.
func (s *search) amiss(ex explanation, e estimate, groups [][]sighting) float64 {
	var log float64
	for g := 1; g < len(groups); g++ {
		if before := groups[g-1]; before[0].part == groups[g][0].part {
			x := (before[len(before)-1].x + groups[g][0].x) / 2
			log += lost(e.at(g, x) - e.at(g-1, x))
		} else {
			log += lost(hour)
		}
	}
	for i, at := range s.sightings {
		if ex.aside[i] {
			off := float64(hour)
			for g, ss := range groups {
				if ss[0].part == at.part {
					off = min(off, math.Abs(at.y-e.at(g, at.x)))
				}
			}
			log += lost(off)
		}
	}
	return log
}

// within says whether every anchor is as near to its line as its resolution and
// the scatter let it be. Where no anchor is spare, scatter can't be told from a
// pause or a mistake, and only a little of it is let pass.
func (s *search) within(e estimate, groups [][]sighting, sigma float64) bool {
	let := 3 * math.Hypot(floor, sigma)
	if spare(groups) < 1 {
		let = min(let, 0.25)
	}
	for g, ss := range groups {
		for _, at := range ss {
			if math.Abs(at.y-e.at(g, at.x)) > at.a+at.b+let {
				return false
			}
		}
	}
	return true
}

// forward says whether log time passes from each stretch to the next: a pause
// gains log time, and no part begins before the one in front of it has ended.
func (s *search) forward(e estimate, groups [][]sighting) bool {
	for g := 1; g < len(groups); g++ {
		before, after := groups[g-1], groups[g]
		if before[0].part == after[0].part {
			x := (before[len(before)-1].x + after[0].x) / 2
			if e.at(g, x) <= e.at(g-1, x) {
				return false
			}
			continue
		}
		end, start := s.parts[before[0].part].End.Seconds(), s.parts[after[0].part].Start.Seconds()
		gap := (start + e.at(g, start)) - (end + e.at(g-1, end))
		if gap < -1-3*math.Sqrt(e.variance(g-1, end)+e.variance(g, start)) {
			return false
		}
	}
	return true
}

// settle decides between a best explanation that sets anchors aside and its
// rivals: where others could as well be the wrong ones, it is better to believe
// all, if they can be believed at all, and let their scatter widen the ±. ok is
// false where that isn't possible either.
func (s *search) settle(best verdict) (verdict, []verdict, bool) {
	rivals := s.rivals(best)
	if len(rivals) == 0 {
		return best, nil, true
	}
	all := verdict{evidence: math.Inf(-1)}
	for _, v := range s.seen {
		if count(v.aside) == 0 && (v.evidence > all.evidence || v.evidence == all.evidence && v.key() < all.key()) {
			all = v
		}
	}
	return all, append(rivals, best), all.evidence > best.evidence-5
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

// spare is how many anchors there are beyond what offsets and rate need.
func spare(groups [][]sighting) int {
	n := -1
	for _, ss := range groups {
		n += len(ss) - 1
	}
	return n
}

func (e explanation) key() string {
	b := make([]byte, len(e.aside))
	for i := range b {
		if e.aside[i] {
			b[i] |= 1
		}
		if e.paused[i] {
			b[i] |= 2
		}
	}
	return string(b)
}

func count(set []bool) (n int) {
	for _, in := range set {
		if in {
			n++
		}
	}
	return n
}

// logSum is log(exp a + exp b).
func logSum(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	if math.IsInf(b, -1) {
		return a
	}
	return a + math.Log1p(math.Exp(b-a))
}
