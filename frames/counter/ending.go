package counter

import (
	"cmp"
	"maps"
	"math"
	"slices"
)

// What ends a line is a unit's letters or the last digits. Letters that are cut out
// as digits are told by this: digits change.

// seeming tells which digit an instance seems to be, before anything is known of the
// recording's lettering.
type seeming func(instance) int

// fewestDigits is how many digits a last place shows at least, weighed by how often.
// While the camera stands one digit is shown for long: then so many as severalDigits, each
// now and then, are enough.
const (
	fewestDigits  = 2.2
	severalDigits = 5
)

// changing tells whether so many signs are now this digit, now that.
func changing(seen map[int]int) bool {
	sum, squares, several := 0.0, 0.0, 0
	for _, n := range seen {
		sum += float64(n)
		squares += float64(n) * float64(n)
	}
	for _, n := range seen {
		if n >= leastGroup && float64(n) > 0.01*sum {
			several++
		}
	}
	return squares > 0 && sum*sum/squares >= fewestDigits || several >= severalDigits
}

// pointsOnly leaves out marks that nothing changes behind, such as the foot of a
// unit's letter. A number that stays at 10.0 has its point where no other has, and
// behind it a sign that is a digit elsewhere.
func pointsOnly(byStrip map[int][]instance, marks []mark, tall float64, seem seeming) []mark {
	var at []float64
	for _, m := range marks {
		if !m.colon {
			at = append(at, m.x)
		}
	}
	var kept, still []mark
	digits := map[int]bool{} // groups seen behind points
	for _, p := range commonest(at, 1.2) {
		var here []mark
		seen, groups := map[int]int{}, map[int]bool{}
		for _, m := range marks {
			if m.colon || math.Abs(m.x-p.at) > 1.2 {
				continue
			}
			here = append(here, m)
			if in, ok := behind(byStrip[m.strip], m.x, tall); ok {
				seen[seem(in)]++
				groups[in.group] = true
			}
		}
		if !changing(seen) {
			still = append(still, here...)
			continue
		}
		kept = append(kept, here...)
		for g := range groups {
			digits[g] = true
		}
	}
	points := pointOf(kept)
	for _, m := range still {
		if _, other := points[m.strip]; other {
			continue
		}
		if in, ok := behind(byStrip[m.strip], m.x, tall); ok && digits[in.group] {
			kept = append(kept, m)
		}
	}
	return kept
}

// dropName takes a name ahead of the number off the lines, as D: is one: a colon with one
// sign ahead of it that stands nowhere else. In a time of day that sign is a digit like others.
func dropName(byStrip map[int][]instance, marks []mark) []mark {
	var at []float64
	for _, m := range marks {
		if m.colon {
			at = append(at, m.x)
		}
	}
	for _, p := range commonest(at, 1.2)[:min(1, len(at))] {
		ahead, all := map[int]int{}, map[int]int{}
		one := 0 // strips with one sign ahead of the colon
		for _, ins := range byStrip {
			n := 0
			for _, in := range ins {
				all[in.group]++
				if in.centre < p.at {
					ahead[in.group]++
					n++
				}
			}
			if n == 1 {
				one++
			}
		}
		for g, n := range ahead {
			if 100*n < 97*all[g] || 10*one < 9*p.count {
				return marks
			}
		}
		for strip, ins := range byStrip {
			byStrip[strip] = slices.DeleteFunc(ins, func(in instance) bool { return in.centre < p.at })
		}
		return slices.DeleteFunc(marks, func(m mark) bool { return m.x < p.at+1.2 })
	}
	return marks
}

// behind is the first digit behind a mark.
func behind(digits []instance, x, tall float64) (instance, bool) {
	for _, in := range digits {
		if in.centre > x && in.centre-x < 1.5*tall {
			return in, true
		}
	}
	return instance{}, false
}

// inside tells whether a mark is a piece of a digit.
func inside(digits []instance, x float64) bool {
	return slices.ContainsFunc(digits, func(in instance) bool { return in.left < x && x < in.right })
}

// dropUnit takes the unit's letters off the lines.
func dropUnit(byStrip map[int][]instance, marks []mark, tall float64, seem seeming) {
	if end, ok := unitBehind(byStrip, marks, tall, seem); ok {
		dropBehind(byStrip, pointOf(marks), end)
		return
	}
	dropLetters(byStrip, seem)
}

// dropBehind takes off what stands so far behind the point, and where the point was
// not made out, what stands where that does.
func dropBehind(byStrip map[int][]instance, points map[int]float64, end float64) {
	var letters []float64
	for strip, x := range points {
		for _, in := range byStrip[strip] {
			if in.centre > x+end {
				letters = append(letters, in.centre)
			}
		}
	}
	where := commonest(letters, 1.2)
	for strip, ins := range byStrip {
		x, pointed := points[strip]
		byStrip[strip] = slices.DeleteFunc(ins, func(in instance) bool {
			if pointed {
				return in.centre > x+end
			}
			return slices.ContainsFunc(where, func(p peak) bool { return math.Abs(in.centre-p.at) < 1.5 && 10*p.count > len(points) })
		})
	}
}

func pointOf(marks []mark) map[int]float64 {
	points := map[int]float64{}
	for _, m := range marks {
		if !m.colon {
			points[m.strip] = m.x
		}
	}
	return points
}

// unitBehind is how far behind the point the unit begins: where signs stand that
// never change. Behind a point the line is always the same, however it slides.
func unitBehind(byStrip map[int][]instance, marks []mark, tall float64, seem seeming) (end float64, ok bool) {
	points := pointOf(marks)
	if 5*len(points) < len(byStrip) {
		return 0, false
	}
	var behind []float64
	each := func(do func(offset float64, in instance)) {
		for strip, x := range points {
			for _, in := range byStrip[strip] {
				if in.centre > x {
					do(in.centre-x, in)
				}
			}
		}
	}
	each(func(offset float64, _ instance) { behind = append(behind, offset) })
	columns := commonest(behind, 0.2*tall)
	slices.SortFunc(columns, func(a, b peak) int { return cmp.Compare(a.at, b.at) })
	for _, c := range columns {
		if 5*c.count < len(points) {
			continue
		}
		seen, here, elsewhere := map[int]int{}, map[int]int{}, map[int]int{}
		for strip, x := range points {
			for _, in := range byStrip[strip] {
				if math.Abs(in.centre-x-c.at) < 0.2*tall {
					seen[seem(in)]++
					here[in.group]++
				} else {
					elsewhere[in.group]++
				}
			}
		}
		if !changing(seen) && !alternating(here, elsewhere) {
			return c.at - 0.25*tall, true
		}
	}
	return math.Inf(1), true
}

// alternating reports whether a place shows two digits by turns that are shown elsewhere
// too, as the last place of a number that goes by fives does. A letter stands there alone.
func alternating(here, elsewhere map[int]int) bool {
	sum, digits := 0, 0
	for _, n := range here {
		sum += n
	}
	for g, n := range here {
		if 6*n > sum && elsewhere[g] >= leastGroup {
			digits++
		}
	}
	return digits >= 2
}

// mostLetters is how many letters a unit has at most.
const mostLetters = 3

// dropLetters takes letters off the ends of lines without a point.
func dropLetters(byStrip map[int][]instance, seem seeming) {
	left := map[int][]instance{}
	for strip, ins := range byStrip {
		left[strip] = ins
	}
	for range mostLetters {
		isLetter, ok := alwaysLast(left, seem)
		if !ok {
			return
		}
		last := map[int]int{}
		for strip, ins := range left {
			if n := len(ins); n > 0 && isLetter(ins[n-1]) {
				ins = ins[:n-1]
			}
			left[strip] = ins
			if n := len(ins); n > 0 {
				last[seem(ins[n-1])]++
			}
		}
		if changing(last) {
			for strip, ins := range left {
				byStrip[strip] = ins
			}
		}
	}
}

// alwaysLast is what ends lines and is seen nowhere else. In most lines that is what
// seems to be a digit as no other does; in nearly all, a few groups that seem to be one
// that others are too, as a t seems to be a 1.
func alwaysLast(byStrip map[int][]instance, seem seeming) (isLetter func(instance) bool, ok bool) {
	group := func(in instance) int { return in.group }
	lines := float64(len(byStrip))
	for letter, n := range onlyLast(byStrip, seem) {
		if float64(n) > 0.5*lines {
			return func(in instance) bool { return seem(in) == letter }, true
		}
	}
	groups, sum := onlyLast(byStrip, group), 0
	for _, n := range groups {
		sum += n
	}
	return func(in instance) bool { return groups[in.group] > 0 }, float64(sum) > 0.9*lines && !changing(groups)
}

// onlyLast counts by kind what ends lines and hardly ever stands elsewhere.
func onlyLast(byStrip map[int][]instance, kind seeming) map[int]int {
	last, all := map[int]int{}, map[int]int{}
	for _, ins := range byStrip {
		for i, in := range ins {
			all[kind(in)]++
			if i == len(ins)-1 {
				last[kind(in)]++
			}
		}
	}
	maps.DeleteFunc(last, func(k, n int) bool { return 20*n < 19*all[k] })
	return last
}
