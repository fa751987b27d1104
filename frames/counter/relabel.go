package counter

import (
	"cmp"
	"math"
	"slices"

	"pushcue/timeline/distance"
)

// A sign is one look of a digit, and which digit it is held to be. Some digits have
// several, as where a group was torn by noise.
type sign struct {
	*model
	mean  shape
	like  [10]float64
	digit int
}

// sameSign is the correlation from which two groups may be one digit, torn apart
// by noise. Others may not, or all labels would end up as one, which runs smoothest.
const sameSign = 0.95

// may tells whether sign i can be digit d beside what the others are.
func (r *reader) may(i, d int) bool {
	for j := range r.signs {
		if j != i && r.signs[j].digit == d && correlation(&r.signs[i].mean, &r.signs[j].mean) < sameSign {
			return false
		}
	}
	return true
}

// firstLabels gives each sign the digit that it is most like, the likeliest first,
// and what is left over the likeliest that is free.
func (r *reader) firstLabels() {
	type claim struct {
		sign, digit int
		how         float64
	}
	var claims []claim
	for i := range r.signs {
		r.signs[i].digit = -1
		for d, how := range r.signs[i].like {
			claims = append(claims, claim{i, d, how})
		}
	}
	slices.SortStableFunc(claims, func(a, b claim) int { return cmp.Compare(b.how, a.how) })
	for _, c := range claims {
		if r.signs[c.sign].digit < 0 && r.may(c.sign, c.digit) {
			r.signs[c.sign].digit = c.digit
		}
	}
	r.signs = slices.DeleteFunc(r.signs, func(s sign) bool { return s.digit < 0 })
}

// relabel finds the digits that make the counter run smoothly. Likeness to known
// fonts is a hint only: a 0 with a stroke through it is much like an 8. But a
// counter goes 7, 8, 9, 0, and a wrong label makes it jump. So labels are changed,
// or swapped, as long as that lowers the way that the counter seems to have run
// (its total variation) by more than it costs in likeness.
func (r *reader) relabel(sh *sheet, sights []sight) {
	best := r.cost(sh, sights)
	for again := true; again; {
		again = false
		try := func(change, back func()) {
			change()
			if c := r.cost(sh, sights); c < best-1e-6 {
				best, again = c, true
				return
			}
			back()
		}
		for i := range r.signs {
			for d := range 10 {
				was := r.signs[i].digit
				if !r.may(i, d) {
					continue
				}
				try(func() { r.signs[i].digit = d }, func() { r.signs[i].digit = was })
			}
			for j := range i {
				a, b := r.signs[i].digit, r.signs[j].digit
				try(func() { r.signs[i].digit, r.signs[j].digit = b, a }, func() { r.signs[i].digit, r.signs[j].digit = a, b })
			}
		}
	}
}

// What likeness weighs against smoothness.
const smoothness = 3.0

func (r *reader) cost(sh *sheet, sights []sight) float64 {
	unlike, n := 0.0, 0.0
	for _, s := range r.signs {
		weight := math.Sqrt(float64(s.n))
		unlike += weight * (1 - s.like[s.digit])
		n += weight
	}
	return unlike/max(n, 1) + smoothness*r.variation(sh, sights)
}

// variation is how far the value goes from one strip to the next, by what a cable
// could have gone at most.
func (r *reader) variation(sh *sheet, sights []sight) float64 {
	step := math.Pow10(-r.grid.decimals)
	sum, n := 0.0, 0
	for i := 1; i < len(sights); i++ {
		a, b := &sights[i-1], &sights[i]
		dt := sh.at[i].Sub(sh.at[i-1]).Seconds()
		if dt > 1 || !a.clear() || !b.clear() {
			continue
		}
		reach := step + float64(distance.DefaultFastest)*dt
		sum += min(math.Abs(r.value(b)-r.value(a))/reach, 10)
		n++
	}
	if n == 0 {
		return 0
	}
	return sum / float64(n)
}

func (r *reader) value(s *sight) float64 {
	v := 0.0
	for _, k := range s.signs {
		v = 10*v + float64(r.signs[k].digit)
	}
	return v / math.Pow10(r.grid.decimals)
}
