package counter

import (
	"math"
	"time"

	"pushcue/timeline/distance"
)

// farthest is how far apart the sure readings may be between which an
// unsure one is read.
const farthest = 1500 * time.Millisecond

// fill reads strips that aren't sure by themselves, but lie between two that are:
// only what the cable could have reached from the one, and from there the other, is
// looked for. What isn't clear then, either, stays unread.
func (r *reader) fill(samples []Sample, views []view, o Options) {
	cable := cableOf(o, r.grid.decimals)
	last := -1
	for i := range samples {
		if samples[i].State != AsShown {
			continue
		}
		if last >= 0 && i > last+1 {
			for k := last + 1; k < i; k++ {
				r.fillOne(&samples[k], &views[k], &samples[last], &samples[i], cable)
			}
		}
		last = i
	}
}

// cableOf is the cable in what the counter counts in. The number changes faster in feet than
// in metres; where nobody knows the unit, it may be feet.
func cableOf(o Options, decimals int) distance.Cable {
	c := distance.Cable{Fastest: o.Fastest, Step: distance.Metres(math.Pow10(-decimals))}
	if c.Fastest <= 0 {
		c.Fastest = distance.DefaultFastest
	}
	if o.Unit != distance.Metre {
		c.Fastest /= distance.PerFoot
	}
	return c
}

const sureFilled = 4.0

func (r *reader) fillOne(s *Sample, v *view, before, after *Sample, cable distance.Cable) {
	early, late := s.At.Sub(before.At), after.At.Sub(s.At)
	if early > farthest || late > farthest {
		return
	}
	scale := math.Pow10(r.grid.decimals)
	reach := func(waited time.Duration) float64 { return float64(cable.Reach(waited)) * scale }
	b, a := math.Round(before.Value*scale), math.Round(after.Value*scale)
	from := math.Ceil(max(b-reach(early), a-reach(late)))
	to := math.Floor(min(b+reach(early), a+reach(late)))
	if to-from > 400 {
		return
	}
	best, second, at := fit{nats: math.Inf(-1)}, math.Inf(-1), 0.0
	for steps := from; steps <= to; steps++ {
		f := r.fitValue(v, int(steps))
		if f.nats > best.nats {
			best, second, at = f, best.nats, steps
		} else {
			second = max(second, f.nats)
		}
	}
	if best.text == "" || best.nats < 0 || best.lack > 2*mostLack || best.nats-second < sureFilled+perLack*max(best.lack, 0) {
		return
	}
	s.State, s.Text, s.Value, s.Margin = Filled, best.text, at/scale, min(best.nats-second, best.nats)
}

// A fit is how well a strip suits a value.
type fit struct {
	nats float64 // over what background may have by chance
	lack float64 // what the worst cell lacks to the least that is believed
	text string  // as it is written; "" where it has a digit that was never made out
}

func (r *reader) fitValue(v *view, steps int) fit {
	best := fit{nats: math.Inf(-1)}
	for i, l := range r.layout {
		digits, ok := r.digits(max(steps, -steps), l)
		if !ok {
			continue
		}
		minus, known := r.minusAt(v, i)
		if steps < 0 && !known {
			continue
		}
		f, signs := r.fitDigits(v, l, digits)
		if known && (minus > 0) != (steps < 0) {
			f.nats -= math.Abs(minus)
		}
		if f.nats > best.nats {
			if best = f; len(signs) == len(digits) {
				best.text, _ = r.text(&sight{layout: i, signs: signs, negative: steps < 0})
			}
		}
	}
	return best
}

// fitDigits is how well the places of a layout suit digits, and the signs of those known.
func (r *reader) fitDigits(v *view, l layout, digits []int) (f fit, signs []int8) {
	for k, d := range digits {
		n := r.signOf(d)
		if n < 0 {
			f.nats += r.fitUnknown(v, l.places[k])
			continue
		}
		m := float64(v.matches[l.places[k]*len(r.signs)+n])
		f.lack = max(f.lack, r.signs[n].least-m)
		pixels := r.places[l.places[k]].pixels()
		f.nats += nats(m, pixels) - nats(0.7*r.signs[n].usual, pixels)
		signs = append(signs, int8(n))
	}
	return f, signs
}

// fitUnknown is how well a digit that was never made out may suit a place: as well as the
// known one that suits it best would if it were only just believed.
func (r *reader) fitUnknown(v *view, place int) float64 {
	seen := r.see(v, place)
	if seen.sign < 0 {
		return math.Inf(-1)
	}
	s, pixels := r.signs[seen.sign], r.places[place].pixels()
	return nats(s.least, pixels) - nats(0.7*s.usual, pixels)
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
