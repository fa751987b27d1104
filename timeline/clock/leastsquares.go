package clock

import "math"

// A point is one anchor as the fit sees it, in seconds.
type point struct {
	x, y   float64 // recording's time; log time less recording's time
	weight float64 // one over the variance of y
}

// An estimate is a set of parallel lines: y = mean of its group + slope·(x − middle of its group).
type estimate struct {
	slope       float64
	information float64   // one over the variance of slope, prior included
	middle      []float64 // weighted mean of x, a group
	mean        []float64 // weighted mean of y, a group
	weight      []float64 // sum of weights, a group
	squares     float64   // weighted sum of squared residuals
	points      int
}

// leastSquares fits one line to each group, all with the same slope. The slope is
// drawn towards 0 by prior, one over the variance expected of it; with one group
// and no prior this is ordinary weighted linear regression. Measuring x and y from
// their groups' means keeps the sums well conditioned and lets the offsets fall
// out of the equations, so that no matrix is needed.
func leastSquares(groups [][]point, prior float64) estimate {
	e := estimate{
		information: prior,
		middle:      make([]float64, len(groups)),
		mean:        make([]float64, len(groups)),
		weight:      make([]float64, len(groups)),
	}
	var across float64
	for g, points := range groups {
		for _, p := range points {
			e.weight[g] += p.weight
			e.middle[g] += p.weight * p.x
			e.mean[g] += p.weight * p.y
		}
		e.middle[g] /= e.weight[g]
		e.mean[g] /= e.weight[g]
		for _, p := range points {
			dx := p.x - e.middle[g]
			e.information += p.weight * dx * dx
			across += p.weight * dx * (p.y - e.mean[g])
		}
		e.points += len(points)
	}
	if e.information > 0 {
		e.slope = across / e.information
	}
	for g, points := range groups {
		for _, p := range points {
			r := p.y - e.at(g, p.x)
			e.squares += p.weight * r * r
		}
	}
	return e
}

// at is the height of group g's line at x.
func (e estimate) at(g int, x float64) float64 { return e.mean[g] + e.slope*(x-e.middle[g]) }

// variance is how uncertain that height is.
func (e estimate) variance(g int, x float64) float64 {
	v := 1 / e.weight[g]
	if e.information > 0 {
		v += (x - e.middle[g]) * (x - e.middle[g]) / e.information
	}
	return v
}

// deviation is the residual standard deviation; 0 where no anchor is spare.
func (e estimate) deviation() float64 {
	spare := e.points - len(e.mean) - 1
	if spare < 1 {
		return 0
	}
	return math.Sqrt(e.squares / float64(spare))
}

// evidence is the logarithm of the probability of the points' heights, whatever
// slope and offsets made them: Gaussian errors, the slope's prior, and any
// offsets (the caller weighs those). It is the closed form of the Gaussian integral
// (D. J. C. MacKay, Bayesian interpolation, Neural Computation 4 (1992), calls its
// use for choosing between explanations "the evidence"), and charges each
// explanation for the freedom it needs.
func (e estimate) evidence(groups [][]point, prior float64) float64 {
	log := -0.5*(e.squares+prior*e.slope*e.slope) + 0.5*math.Log(prior/e.information)
	for g, points := range groups {
		for _, p := range points {
			log += 0.5 * math.Log(p.weight/(2*math.Pi))
		}
		log += 0.5 * math.Log(2*math.Pi/e.weight[g])
	}
	return log
}
