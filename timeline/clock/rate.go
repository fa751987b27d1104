package clock

import "math"

// A drift is one idea of how far the rate may be from 0 before any anchor is seen:
// normally distributed and cut off at ± most, as fractions (1e-6 is 1 ppm).
type drift struct {
	sd, share float64 // share: how often this idea holds
}

const (
	ppm      = 1e-6
	mostRate = 500 * ppm // no pair of clocks that anybody wears drifts faster
	mostSkew = 0.05      // nor does a recorder that drops frames lose more
)

// Quartz clocks drift by 20–100 ppm (common practice, no published source). Two of
// them, each within ± 100 ppm in 95 % of cases, differ with a standard deviation
// of √2·100/1.96 = 72 ppm; now and then one of them is cold, old or cheap.
var quartz = []drift{{72 * ppm, 0.97}, {250 * ppm, 0.03}}

// A recorder that drops frames without saying so makes the recording short by per
// cents. That is thought of only where an anchor is spare to confirm it.
var uneven = []drift{{0.025, 1}}

// logDensity is the logarithm of the prior density of rate r, but for a constant.
func logDensity(ideas []drift, r float64) float64 {
	var p float64
	for _, d := range ideas {
		p += d.share * bell(r/d.sd) / d.sd
	}
	return math.Log(p)
}
