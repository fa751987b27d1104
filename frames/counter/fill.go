package counter

import (
	"math"

	"pushcue/timeline/distance"
)

// farthest is how far apart, in seconds, the sure readings may be between which an
// unsure one is read.
const farthest = 1.5

// fill reads strips that aren't sure by themselves, but lie between two that are:
// only what the cable could have reached from the one, and from there the other, is
// looked for. What isn't clear then, either, stays unread.
func (r *reader) fill(samples []Sample, views []view, o Options) {
	perSecond := unitsPerSecond(o)
	last := -1
	for i := range samples {
		if samples[i].State != AsShown {
			continue
		}
		if last >= 0 && i > last+1 {
			for k := last + 1; k < i; k++ {
				r.fillOne(&samples[k], &views[k], &samples[last], &samples[i], perSecond)
			}
		}
		last = i
	}
}

// unitsPerSecond is how fast the number shown may change. Feet go faster than
// metres; where nobody knows the unit, they may be feet.
func unitsPerSecond(o Options) float64 {
	fastest := o.Fastest
	if fastest <= 0 {
		fastest = distance.DefaultFastest
	}
	if o.Unit == distance.Metre {
		return float64(fastest)
	}
	return float64(fastest) / float64(distance.PerFoot)
}

const sureFilled = 4.0

func (r *reader) fillOne(s *Sample, v *view, before, after *Sample, perSecond float64) {
	early, late := s.At.Sub(before.At).Seconds(), after.At.Sub(s.At).Seconds()
	if early > farthest || late > farthest {
		return
	}
	scale := math.Pow10(r.grid.decimals)
	reach := func(dt float64) float64 { return 1 + perSecond*dt*scale }
	b, a := math.Round(before.Value*scale), math.Round(after.Value*scale)
	from := math.Ceil(max(b-reach(early), a-reach(late)))
	to := math.Floor(min(b+reach(early), a+reach(late)))
	if to-from > 400 {
		return
	}
	best, second, at := math.Inf(-1), math.Inf(-1), 0.0
	var text string
	for steps := from; steps <= to; steps++ {
		fit, t := r.fitValue(v, int(steps))
		if fit > best {
			best, second, at, text = fit, best, steps, t
		} else {
			second = max(second, fit)
		}
	}
	if best < 0 || best-second < sureFilled {
		return
	}
	s.State, s.Text, s.Value, s.Margin = Filled, text, at/scale, min(best-second, best)
}

// fitValue is how well a strip suits a value, in nats over what background may
// have by chance, and how the value is written; -Inf where a digit isn't there.
func (r *reader) fitValue(v *view, steps int) (float64, string) {
	best, text := math.Inf(-1), ""
	for i, l := range r.layout {
		digits, ok := r.digits(max(steps, -steps), l)
		if !ok {
			continue
		}
		sum := 0.0
		var signs []int8
		for k, d := range digits {
			n := r.signOf(d)
			if n < 0 {
				sum = math.Inf(-1)
				break
			}
			m := float64(v.matches[l.places[k]*len(r.signs)+n])
			if m < r.signs[n].least-2*mostLack {
				sum = math.Inf(-1)
				break
			}
			pixels := r.places[l.places[k]].pixels()
			sum += nats(m, pixels) - nats(0.7*r.signs[n].usual, pixels)
			signs = append(signs, int8(n))
		}
		minus, known := r.minusAt(v, i)
		if steps < 0 && !known {
			continue
		}
		if known && (minus > 0) != (steps < 0) {
			sum -= math.Abs(minus)
		}
		if sum > best {
			best = sum
			text, _ = r.text(&sight{layout: i, signs: signs, negative: steps < 0})
		}
	}
	return best, text
}

// digits writes a value in a layout; false where it isn't written so.
func (r *reader) digits(steps int, l layout) ([]int, bool) {
	if r.fixed > 0 && l.whole != r.fixed {
		return nil, false
	}
	digits := make([]int, len(l.places))
	for k := len(digits) - 1; k >= 0; k-- {
		digits[k] = steps % 10
		steps /= 10
	}
	return digits, steps == 0 && (r.fixed > 0 || l.whole == 1 || digits[0] > 0)
}

func (r *reader) signOf(digit int) int {
	for i := range r.signs {
		if r.signs[i].digit == digit && r.signs[i].known && r.signs[i].sure >= sureLabel {
			return i
		}
	}
	return -1
}
