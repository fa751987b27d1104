package clock

import "math"

// floor is the placing noise that is always there, one standard deviation in
// seconds: a moment is named by a frame, which at 25 a second is ± 0.02 s.
const floor = 0.012

// A density is the logarithm of the probability density of an anchor's error:
// two uniform errors, one a clock, and Gaussian noise in placing. It is kept as a
// table, as the fit asks for it some hundred thousand times.
type density struct {
	reach float64 // zero beyond ± reach
	step  float64
	logs  []float64 // at 0, step, 2·step … reach
}

// cells of a density's table: the edges of a coarse anchor are steeper than
// this shows, by less than a hundredth of its width.
const cells = 96

// newDensity makes the table for uniform errors of ± a and ± b seconds and noise
// of standard deviation sigma.
func newDensity(a, b, sigma float64) density {
	f := errorLaw(a, b, sigma)
	d := density{reach: a + b + 4.5*sigma, logs: make([]float64, cells+1)}
	d.step = d.reach / cells
	for i := range d.logs {
		d.logs[i] = math.Log(max(f(float64(i)*d.step), 1e-300))
	}
	return d
}

// log is the table's value at error e, and -Inf out of reach.
func (d density) log(e float64) float64 {
	e = math.Abs(e) / d.step
	i := int(e)
	if i >= cells {
		return math.Inf(-1)
	}
	e -= float64(i)
	return d.logs[i]*(1-e) + d.logs[i+1]*e
}

// errorLaw is the density of a sum of two uniform errors and a Gaussian one. The
// density of a uniform error and a Gaussian one is a difference of Gaussian
// integrals over the width; a second uniform error takes the difference once more.
// A uniform error that is narrower than the noise can't be told from more noise,
// and dividing by its width would lose digits, so it is counted as noise.
func errorLaw(a, b, sigma float64) func(e float64) float64 {
	a, b = max(a, b), min(a, b)
	if b < sigma/2 {
		sigma, b = math.Hypot(sigma, b/math.Sqrt(3)), 0
	}
	if a < sigma/2 {
		sigma, a = math.Hypot(sigma, a/math.Sqrt(3)), 0
	}
	switch {
	case a == 0:
		return func(e float64) float64 { return bell(e/sigma) / sigma }
	case b == 0:
		return func(e float64) float64 { return (below((e+a)/sigma) - below((e-a)/sigma)) / (2 * a) }
	}
	area := func(e float64) float64 { return e*below(e/sigma) + sigma*bell(e/sigma) }
	return func(e float64) float64 {
		e = -math.Abs(e) // the small tail: less is lost by subtracting
		return (area(e+a+b) - area(e+a-b) - area(e-a+b) + area(e-a-b)) / (4 * a * b)
	}
}

// bell is the standard normal density, below its integral from minus infinity.
func bell(z float64) float64  { return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) }
func below(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }
