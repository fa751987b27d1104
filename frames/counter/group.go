package counter

import (
	"cmp"
	"math"
	"slices"
)

// A group is instances that look alike: one digit, or one kind of mistake.
type group struct {
	mean  shape
	count int
	width float64
	digit int // -1 where it is like none
	how   float64
}

const (
	alike        = 0.86 // correlation from which two instances are one sign
	leastGroup   = 3
	surelyADigit = 0.45
)

// grouped sorts instances into groups, in two walks: the second one starts from
// the means that the first one found.
func grouped(all []instance) []group {
	var groups []group
	for walk := range 2 {
		if walk == 1 {
			groups = slices.DeleteFunc(groups, func(g group) bool { return g.count < leastGroup })
			for i := range groups {
				groups[i].count = 0
			}
		}
		sums := make([]shape, len(groups))
		for i := range all {
			in := &all[i]
			in.group = -1
			best := alike
			for g := range groups {
				if math.Abs(groups[g].width-(in.right-in.left)) > max(1.6, 0.16*groups[g].width) {
					continue
				}
				if l := correlation(&groups[g].mean, &in.shape); l > best {
					best, in.group = l, g
				}
			}
			if in.group < 0 {
				if walk == 1 || len(groups) > 200 {
					continue
				}
				in.group = len(groups)
				groups = append(groups, group{mean: in.shape, width: in.right - in.left})
				sums = append(sums, shape{})
			}
			g := &groups[in.group]
			g.count++
			for k, v := range in.shape.values {
				sums[in.group].values[k] += v
			}
			if walk == 0 && g.count&(g.count-1) == 0 { // the mean follows at 1, 2, 4, 8 …
				g.mean.values = sums[in.group].values
				g.mean.normalise()
			}
			g.width += (in.right - in.left - g.width) / float64(g.count)
		}
		for g := range groups {
			groups[g].mean.values = sums[g].values
			groups[g].mean.normalise()
		}
	}
	return groups
}

func correlation(a, b *shape) float64 {
	sum := float32(0)
	for i := range a.values {
		sum += a.values[i] * b.values[i]
	}
	return float64(sum)
}

// label gives each group the digit that it is most like, tall telling the digits'
// height in the unit of their width. Two groups that count much and claim the
// same digit are looked at again: the less like one may have a better right to
// another digit.
func label(groups []group, tall float64) {
	like := make([][10]float64, len(groups))
	for g := range groups {
		groups[g].mean.aspect = groups[g].width / tall
		like[g] = likenesses(&groups[g].mean)
		groups[g].digit = -1
	}
	type claim struct {
		group, digit int
		how          float64
	}
	var claims []claim
	for g := range groups {
		for d, how := range like[g] {
			if how > surelyADigit {
				claims = append(claims, claim{g, d, how})
			}
		}
	}
	slices.SortStableFunc(claims, func(a, b claim) int { return cmp.Compare(b.how, a.how) })
	taken := [10]int{}
	for d := range taken {
		taken[d] = -1
	}
	for _, c := range claims {
		g := &groups[c.group]
		if g.digit >= 0 {
			continue
		}
		holder := taken[c.digit]
		if holder >= 0 && correlation(&groups[holder].mean, &g.mean) < 0.75 {
			continue // another sign has that digit already
		}
		if c.how < like[c.group][best(like[c.group])]-0.25 {
			continue
		}
		g.digit, g.how = c.digit, c.how
		if holder < 0 {
			taken[c.digit] = c.group
		}
	}
}

func best(values [10]float64) (at int) {
	for i := range values {
		if values[i] > values[at] {
			at = i
		}
	}
	return at
}
