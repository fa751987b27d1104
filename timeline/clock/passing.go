package clock

import "math"

// passing finds the rates, within ± most, at which lines exist that pass every
// anchor no farther away than its two clocks' resolution and slack seconds more;
// ok is false where there is none.
//
// At a rate, each anchor bounds its group's offset from both sides. The room left
// between the tightest bounds is a concave function of the rate, as the lesser of
// straight lines less the greater of straight lines, so that its top is found by
// narrowing down and the two rates where it is used up by halving.
func passing(groups [][]sighting, slack, most float64) (low, high float64, ok bool) {
	top := peak(func(r float64) float64 { return room(groups, slack, r) }, -most, most)
	if room(groups, slack, top) < 0 {
		return 0, 0, false
	}
	edge := func(out float64) float64 {
		if room(groups, slack, out) >= 0 {
			return out
		}
		in := top
		for range 30 {
			if mid := (in + out) / 2; room(groups, slack, mid) >= 0 {
				in = mid
			} else {
				out = mid
			}
		}
		return in
	}
	return edge(-most), edge(most), true
}

// room is how far a line of rate r may be shifted in the group that leaves least.
func room(groups [][]sighting, slack, r float64) float64 {
	least := math.Inf(1)
	for _, ss := range groups {
		low, high := math.Inf(-1), math.Inf(1)
		for _, s := range ss {
			o := s.y - r*(s.x-ss[0].x)
			low, high = max(low, o-s.a-s.b-slack), min(high, o+s.a+s.b+slack)
		}
		least = min(least, high-low)
	}
	return least
}

// peak is where a concave function is greatest.
func peak(f func(float64) float64, low, high float64) float64 {
	for range 60 {
		a, b := low+(high-low)/3, high-(high-low)/3
		if f(a) < f(b) {
			low = a
		} else {
			high = b
		}
	}
	return (low + high) / 2
}
