package clock

import (
	"math"
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
	evidence float64 // logarithm; below impossible: it doesn't fit
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

// impossible lies below the evidence of everything that is possible. What isn't
// is still told apart, by how far off it is, so that the search sees which way to go.
const impossible = -1e12

// lost is the logarithm of the density of a mistake or a pause of s seconds: from
// 2 s to some hours each doubling is as probable as the next, and what is shorter
// isn't worth calling either.
func lost(s float64) float64 { return -math.Log(2 * 9 * max(2, math.Abs(s))) }

const hour = 3600

// scatterShares says how much worse than written anchors are placed, as multiples
// of the finest one's resolution. Most are as good as written; that the rest isn't
// shows in how the anchors agree.
var scatterShares = []scatter{{0, 0.66}, {0.5, 0.07}, {1, 0.07}, {2, 0.08}, {4, 0.08}, {8, 0.04}}

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
		log := math.Inf(-1)
		_, _, passes := passing(groups, slack(groups, sigma), most)
		for _, idea := range ideas {
			points, prior := weigh(groups, sigma), 1/(idea.sd*idea.sd)
			e := leastSquares(points, prior)
			fits := e.evidence(points, prior) + s.amiss(ex, e, groups) + math.Log(idea.share)
			if !passes || !s.forward(e, groups) {
				fits += 2 * impossible
			}
			log = logSum(log, fits)
		}
		logs = append(logs, log+math.Log(sc.share))
		evidence = logSum(evidence, log+math.Log(sc.share))
	}
	for i, sc := range scatterShares {
		if logs[i]-evidence > math.Log(0.003) {
			kept = append(kept, scatter{sc.sigma * s.finest, sc.share})
		}
	}
	if spare(groups) < 1 && len(kept) > 0 && kept[0].sigma == 0 {
		kept = kept[:1] // nothing speaks against what was written
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
			off := math.Inf(1)
			for g, ss := range groups {
				if ss[0].part == at.part {
					off = min(off, math.Abs(at.y-e.at(g, at.x)))
				}
			}
			if math.IsInf(off, 1) {
				off = hour
			}
			log += lost(off)
		}
	}
	return log
}

// slack is how far beyond its resolution an anchor may be off before it no longer
// agrees. Where no anchor is spare, scatter can't be told from a pause or a
// mistake, and only a little of it is let pass.
func slack(groups [][]sighting, sigma float64) float64 {
	let := 3 * math.Hypot(floor, sigma)
	if spare(groups) < 1 {
		let = min(let, 0.25)
	}
	return let
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
