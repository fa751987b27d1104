package clock

import (
	"math"
	"slices"
	"sort"
)

// A sighting is one anchor ready for the fit, in seconds.
type sighting struct {
	anchor int     // its index in what the caller gave
	part   int     //
	x, y   float64 // recording's time; log time less recording's time
	a, b   float64 // uniform half-widths of the two clocks
}

// A scatter is one idea of how much worse than written the anchors are placed:
// noise in seconds, one standard deviation, and how probable that is.
type scatter struct{ sigma, share float64 }

// A line is one way the log clock may run through a stretch: at recording time x
// it is offset + rate·(x − middle) seconds ahead of the recording.
type line struct{ offset, rate float64 }

// A belief is what is known of one stretch: some hundred lines, each as likely as
// the next, and their mean. Keeping lines, not a covariance, keeps the corners
// that uniform errors leave, and needs no formula to move along the recording.
type belief struct {
	middle float64 // seconds of recording
	mean   line
	lines  []line
}

// Nodes of the quadrature along the rate and along an offset, and lines kept.
const (
	rateNodes   = 41
	offsetNodes = 32
	keptLines   = 256
)

// solve weighs all lines through the groups of anchors by Bayes' rule: the rate's
// prior times, for each anchor, the density of the error that the line leaves it
// with. Given the rate the groups' offsets don't depend on each other, so that
// the integral over everything is one over the rate, and inside it one over each
// offset. Both are done on evenly spaced nodes between the points where the
// integrand vanishes, which for smooth functions is as good as any rule
// (L. N. Trefethen, J. A. C. Weideman, SIAM Review 56 (2014)).
//
// ok is false where no line within the prior passes through the anchors at all.
func solve(groups [][]sighting, ideas []drift, most float64, scatters []scatter) (beliefs []belief, ok bool) {
	middles := make([]float64, len(groups))
	for g, ss := range groups {
		for _, s := range ss {
			middles[g] += s.x / float64(len(ss))
		}
	}
	var slices []slice
	for _, sc := range scatters {
		slices = append(slices, slicesFor(groups, middles, ideas, most, sc)...)
	}
	if !normalise(slices) {
		return nil, false
	}
	for g := range groups {
		beliefs = append(beliefs, gather(slices, g, middles[g]))
	}
	return beliefs, true
}

// A slice is the posterior at one rate and one scatter.
type slice struct {
	rate    float64
	step    float64 // to the next rate
	log     float64 // logarithm of its mass, then
	mass    float64 // its share of the whole
	offsets []column
}

// A column is the density of one group's offset, given the rate: cumulated over
// nodes from low, step apart.
type column struct {
	low, step  float64
	cumulative []float64 // the last is 1
	mean       float64
}

// slicesFor lays the rate's nodes where the posterior has its mass: a first look
// over all that least squares leaves open, then closer ones while most of the
// nodes are wasted.
func slicesFor(groups [][]sighting, middles []float64, ideas []drift, most float64, sc scatter) []slice {
	laws := make([][]density, len(groups))
	for g, ss := range groups {
		laws[g] = make([]density, len(ss))
		for i, s := range ss {
			laws[g][i] = newDensity(s.a, s.b, math.Hypot(floor, sc.sigma))
		}
	}
	widest := ideas[len(ideas)-1]
	e := leastSquares(weigh(groups, sc.sigma), 1/(widest.sd*widest.sd))
	reach := 7 / math.Sqrt(e.information)
	low, high, ok := passing(groups, 4.5*math.Hypot(floor, sc.sigma), most)
	if !ok {
		return nil
	}
	low, high = max(low, e.slope-reach), min(high, e.slope+reach)
	var slices []slice
	for look := 0; look < 4 && low < high; look++ {
		step := (high - low) / rateNodes
		slices = slices[:0]
		first, last, peak := rateNodes, -1, math.Inf(-1)
		for i := range rateNodes {
			r := low + (float64(i)+0.5)*step
			s := sliceAt(groups, laws, middles, r)
			s.step = step
			s.log += logDensity(ideas, r) + math.Log(sc.share*step)
			slices = append(slices, s)
			peak = max(peak, s.log)
		}
		for i, s := range slices {
			if s.log > peak-11 && !math.IsInf(s.log, -1) {
				first, last = min(first, i), i
			}
		}
		if last < first || last-first > rateNodes*3/5 {
			break
		}
		low, high = low+float64(first-1)*step, low+float64(last+2)*step
	}
	return slices
}

// sliceAt integrates over the offsets at one rate.
func sliceAt(groups [][]sighting, laws [][]density, middles []float64, r float64) slice {
	s := slice{rate: r, offsets: make([]column, len(groups))}
	for g, ss := range groups {
		low, high := math.Inf(-1), math.Inf(1)
		for i, at := range ss {
			o := at.y - r*(at.x-middles[g])
			low, high = max(low, o-laws[g][i].reach), min(high, o+laws[g][i].reach)
		}
		if low >= high {
			s.log = math.Inf(-1)
			return s
		}
		c, log := columnOf(ss, laws[g], middles[g], r, low, (high-low)/offsetNodes)
		s.offsets[g] = c
		s.log += log
	}
	return s
}

// columnOf integrates over one group's offset; log is the integral's logarithm.
func columnOf(ss []sighting, laws []density, middle, r, low, step float64) (c column, log float64) {
	var heights [offsetNodes]float64
	for j := range heights {
		o := low + (float64(j)+0.5)*step
		for i, at := range ss {
			heights[j] += laws[i].log(at.y - r*(at.x-middle) - o)
		}
	}
	c, log = cumulated(heights[:], low, step)
	return c, log + math.Log(step)
}

// cumulated is the column of densities that are given by their logarithms, and the
// logarithm of their sum.
func cumulated(logs []float64, low, step float64) (c column, log float64) {
	peak := slices.Max(logs)
	if math.IsInf(peak, -1) {
		return column{}, peak
	}
	c = column{low: low, step: step, cumulative: make([]float64, len(logs))}
	var sum float64
	for j, l := range logs {
		p := math.Exp(l - peak)
		sum += p
		c.mean += p * (low + (float64(j)+0.5)*step)
		c.cumulative[j] = sum
	}
	for j := range c.cumulative {
		c.cumulative[j] /= sum
	}
	c.mean /= sum
	return c, peak + math.Log(sum)
}

// quantile is the offset below which the share q of the column lies.
func (c column) quantile(q float64) float64 {
	j := min(sort.SearchFloat64s(c.cumulative, q), len(c.cumulative)-1)
	var before float64
	if j > 0 {
		before = c.cumulative[j-1]
	}
	within := 0.5
	if d := c.cumulative[j] - before; d > 0 {
		within = (q - before) / d
	}
	return c.low + (float64(j)+within)*c.step
}

// normalise turns the slices' logarithms into shares of 1, in order of rate; false
// where all are nothing.
func normalise(slices []slice) bool {
	peak := math.Inf(-1)
	for _, s := range slices {
		peak = max(peak, s.log)
	}
	if math.IsInf(peak, -1) {
		return false
	}
	var sum float64
	for i := range slices {
		if slices[i].log > peak-30 {
			slices[i].mass = math.Exp(slices[i].log - peak)
		}
		sum += slices[i].mass
	}
	for i := range slices {
		slices[i].mass /= sum
	}
	sort.SliceStable(slices, func(i, j int) bool { return slices[i].rate < slices[j].rate })
	return true
}

// gather draws group g's lines from the slices: evenly through the rates and, by
// the van der Corput sequence, evenly through the offsets (the pair is J. M.
// Hammersley's point set, Annals of the New York Academy of Sciences 86 (1960)).
// No random numbers: the same job gives the same ±.
func gather(slices []slice, g int, middle float64) belief {
	b := belief{middle: middle, lines: make([]line, 0, keptLines)}
	for _, s := range slices {
		if s.mass > 0 {
			b.mean.rate += s.mass * s.rate
			b.mean.offset += s.mass * s.offsets[g].mean
		}
	}
	var passed float64
	i := 0
	for k := range keptLines {
		q := (float64(k) + 0.5) / keptLines
		for i < len(slices)-1 && passed+slices[i].mass < q {
			passed += slices[i].mass
			i++
		}
		s := slices[i]
		if s.mass == 0 {
			continue
		}
		within := (q-passed)/s.mass - 0.5
		b.lines = append(b.lines, line{s.offsets[g].quantile(vanDerCorput(k, 2)), s.rate + within*s.step})
	}
	return b
}

// vanDerCorput mirrors the digits of k at the point, which spreads 0 … keptLines−1
// evenly over 0 … 1; half a place keeps it off the ends.
func vanDerCorput(k, base int) float64 {
	q, place := 0.0, 1.0
	for ; k > 0; k /= base {
		place /= float64(base)
		q += float64(k%base) * place
	}
	return q + 0.5/keptLines
}

// weigh turns groups of sightings into points for least squares.
func weigh(groups [][]sighting, sigma float64) [][]point {
	out := make([][]point, len(groups))
	for g, ss := range groups {
		for _, s := range ss {
			variance := (s.a*s.a+s.b*s.b)/3 + floor*floor + sigma*sigma
			out[g] = append(out[g], point{s.x, s.y, 1 / variance})
		}
	}
	return out
}
