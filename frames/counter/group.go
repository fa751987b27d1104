package counter

import (
	"math"
	"slices"
)

// A group is instances that look alike: one digit, or one kind of mistake.
type group struct {
	mean  shape
	count int
	width float64
	like  [10]float64 // likeness to each digit
	digit int         // the likeliest
}

// leastGroup is how many instances make a group.
const leastGroup = 3

// group sorts instances into groups, as finely as leaves few of them alone: clean
// letters may differ by one bar only, torn ones differ from themselves.
func grouped(all []instance) (groups []group, alike float64) {
	least := len(all) + 1
	var best []int
	for _, level := range []float64{0.95, 0.92, 0.88, 0.84, 0.80} {
		g := merged(groupedAt(all, level), all, level+0.02)
		lost := 0
		for i := range all {
			if all[i].group < 0 {
				lost++
			}
		}
		if lost+len(all)/100 < least {
			groups, alike, least = g, level, lost
			best = best[:0]
			for i := range all {
				best = append(best, all[i].group)
			}
		}
		if lost*33 <= len(all) {
			break
		}
	}
	for i := range all {
		all[i].group = best[i]
	}
	return groups, alike
}

// groupedAt sorts in two walks: the second one starts from the means that the
// first one found. alike is the correlation from which two instances are one sign.
func groupedAt(all []instance, alike float64) []group {
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

// merged joins groups that are one sign after all.
func merged(groups []group, all []instance, alike float64) []group {
	into := make([]int, len(groups))
	var kept []group
	order := make([]int, len(groups))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return groups[b].count - groups[a].count })
	least := max(leastGroup, len(all)/200)
	for _, i := range order {
		g := groups[i]
		into[i] = -1
		for k := range kept {
			if math.Abs(kept[k].width-g.width) <= max(1.2, 0.1*g.width) && correlation(&kept[k].mean, &g.mean) > alike {
				into[i] = k
				kept[k].count += g.count
				break
			}
		}
		if into[i] < 0 && g.count >= least && len(kept) < mostSigns {
			into[i] = len(kept)
			kept = append(kept, g)
		}
	}
	for i := range all {
		if g := all[i].group; g >= 0 {
			all[i].group = into[g]
		}
	}
	return kept
}

// mostSigns is how many groups are followed up: ten digits, some of them twice.
const mostSigns = 28

// liken compares each group with the known digits and gives it the likeliest one.
// tall is the digits' height in the unit of their width.
func liken(groups []group, tall float64) {
	for i := range groups {
		g := &groups[i]
		g.mean.aspect = g.width / tall
		g.like = likenesses(&g.mean)
		g.digit = best(g.like)
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

// digitsOnly leaves out groups that are much less like digits than the rest: the
// letters of a unit, mostly.
func digitsOnly(all []instance, groups []group) ([]instance, []group) {
	var likes []float64
	for _, in := range all {
		if in.group >= 0 {
			likes = append(likes, groups[in.group].like[groups[in.group].digit])
		}
	}
	if len(likes) == 0 {
		return all, groups
	}
	least := 0.55 * median(likes)
	into := make([]int, len(groups))
	var kept []group
	for i, g := range groups {
		into[i] = len(kept)
		if g.like[g.digit] < least {
			into[i] = -1
			continue
		}
		kept = append(kept, g)
	}
	left := all[:0:0]
	for _, in := range all {
		if in.group >= 0 {
			if in.group = into[in.group]; in.group < 0 {
				continue
			}
		}
		left = append(left, in)
	}
	return left, kept
}
