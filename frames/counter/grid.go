package counter

import (
	"cmp"
	"math"
	"slices"
	"sort"
)

// A grid is where digits can stand: cells one pitch apart, a point between two of
// them. Text that slides as it grows has several places for its point.
type grid struct {
	pitch    float64
	origins  []float64 // centres of the units' digit
	step     float64   // from the units' digit to the first decimal; 0 without decimals
	decimals int
	whole    int // most digits ahead of the point
	colon    bool
	points   int // points seen side by side in one strip, as dates have
	top      int // rows of the strip that the digits stand in
	bottom   int
}

// layOut finds the grid from the instances that are digits, and tells which of them
// are a number's and not a unit's.
func layOut(all []instance, groups []group, marks []mark, tall float64) (g grid, number []instance, ok bool) {
	digits := slices.DeleteFunc(slices.Clone(all), func(in instance) bool { return in.group < 0 })
	if len(digits) == 0 {
		return grid{}, nil, false
	}
	byStrip := map[int][]instance{}
	for _, in := range digits {
		byStrip[in.strip] = append(byStrip[in.strip], in)
	}
	for _, ins := range byStrip {
		slices.SortFunc(ins, func(a, b instance) int { return cmp.Compare(a.left, b.left) })
	}
	seem := func(in instance) int { return groups[in.group].digit }
	marks = slices.DeleteFunc(slices.Clone(marks), func(m mark) bool { return inside(byStrip[m.strip], m.x) })
	marks = dropName(byStrip, marks)
	g.findTime(marks, len(byStrip))
	marks = pointsOnly(byStrip, marks, tall, seem)
	dropUnit(byStrip, marks, tall, seem)
	wide := func(in instance) bool { return in.right-in.left > 0.36*tall }
	near, apart := neighbours(byStrip, marks, tall, wide)
	g.pitch = pitchOf(near, apart, widest(digits)+0.12*tall, tall)
	g.findPoints(byStrip, marks, wide)
	for _, in := range digits {
		if slices.ContainsFunc(byStrip[in.strip], func(kept instance) bool { return kept.left == in.left }) {
			number = append(number, in)
		}
	}
	return g, number, len(g.origins) > 0
}

// neighbours are the distances between digits side by side, without and with a point
// between them. A 1 doesn't count: it is narrow, and not in its cell's middle.
func neighbours(byStrip map[int][]instance, marks []mark, tall float64, wide func(instance) bool) (near, apart []float64) {
	points := map[int][]float64{}
	for _, m := range marks {
		points[m.strip] = append(points[m.strip], m.x)
	}
	for strip, ins := range byStrip {
		for i := 1; i < len(ins); i++ {
			a, b := ins[i-1].centre, ins[i].centre
			if !wide(ins[i]) || !wide(ins[i-1]) || b-a <= 0.4*tall || b-a >= 2.4*tall {
				continue
			}
			if slices.ContainsFunc(points[strip], func(x float64) bool { return a < x && x < b }) {
				apart = append(apart, b-a)
			} else {
				near = append(near, b-a)
			}
		}
	}
	return near, apart
}

// pitchOf is the narrower of the common distances: neighbours are a pitch apart, or
// with a point between them rather more. alone is the pitch that the digits' width
// suggests, where nothing else tells it.
func pitchOf(near, apart []float64, alone, tall float64) float64 {
	share := 3 // of the commonest distance, that a narrower one must have
	if len(near) < leastGroup || len(near)*50 < len(apart) {
		near, share = append(near, apart...), 8
	}
	peaks := commonest(near, max(0.8, 0.08*tall))
	if len(peaks) == 0 {
		return alone // one digit
	}
	pitch := peaks[0].at
	for _, p := range peaks[1:] {
		if p.at < 0.85*pitch && p.count*share >= peaks[0].count {
			pitch = p.at
		}
	}
	if only := len(peaks) == 1 || peaks[0].count > 20*peaks[1].count; only && pitch > 0.95*tall && alone < 0.8*pitch {
		// Only digits with a point between them, as in 2.7: they are taken to be as wide as usual.
		pitch /= 1.5
		if alone < pitch*1.2 {
			pitch = alone
		}
	}
	return pitch
}

func widest(digits []instance) float64 {
	var w []float64
	for _, in := range digits {
		w = append(w, in.right-in.left)
	}
	sort.Float64s(w)
	return w[len(w)*9/10]
}

// A peak is a value that many share.
type peak struct {
	at    float64
	count int
}

// commonest finds values that many share within a tolerance, the most shared first.
func commonest(values []float64, within float64) []peak {
	return commonestAtMost(values, within, 12)
}

func commonestAtMost(values []float64, within float64, most int) []peak {
	v := slices.Clone(values)
	sort.Float64s(v)
	var peaks []peak
	for len(v) > 0 {
		bestFrom, bestTo := 0, 0
		for from, to := 0, 0; from < len(v); from++ {
			for to < len(v) && v[to]-v[from] <= 2*within {
				to++
			}
			if to-from > bestTo-bestFrom {
				bestFrom, bestTo = from, to
			}
		}
		sum := 0.0
		for _, x := range v[bestFrom:bestTo] {
			sum += x
		}
		peaks = append(peaks, peak{sum / float64(bestTo-bestFrom), bestTo - bestFrom})
		v = slices.Delete(v, bestFrom, bestTo)
		if len(peaks) > most {
			break
		}
	}
	return peaks
}

// findTime finds what times and dates have and lengths don't: colons, and several points.
func (g *grid) findTime(marks []mark, strips int) {
	colons, points := 0, map[int]int{}
	for _, m := range marks {
		if m.colon {
			colons++
		} else {
			points[m.strip]++
		}
	}
	several := 0
	for _, n := range points {
		if n > 1 {
			several++
		}
	}
	if several*3 > len(points) {
		g.points = 2
	}
	g.colon = colons*4 > strips
}

// findPoints finds where the point stands, and by it which digit is the units'.
func (g *grid) findPoints(byStrip map[int][]instance, marks []mark, wide func(instance) bool) {
	var left, right []float64 // from the point to its neighbours
	var seen []float64
	for strip, ins := range byStrip {
		for _, m := range marks {
			if m.strip != strip || m.colon {
				continue
			}
			l, r := -1, -1
			for i, in := range ins {
				if in.centre < m.x && m.x-in.centre < 1.3*g.pitch && wide(in) {
					l = i
				}
				if in.centre > m.x && in.centre-m.x < 1.3*g.pitch && wide(in) && r < 0 {
					r = i
				}
			}
			if l >= 0 {
				left = append(left, m.x-ins[l].centre)
			}
			if r >= 0 {
				right = append(right, ins[r].centre-m.x)
			}
			if l >= 0 || r >= 0 {
				seen = append(seen, m.x)
			}
		}
	}
	if len(seen)*5 > len(byStrip) && len(left) > 0 && len(right) > 0 {
		offLeft, offRight := commonest(left, 0.8)[0].at, commonest(right, 0.8)[0].at
		g.step = offLeft + offRight
		for _, p := range commonest(seen, 1.2) {
			if p.count*50 >= len(seen) && p.count >= 3 && g.slidesTo(p.at-offLeft, p.count*12 >= len(seen)) && !together(marks, g.origins, offLeft, p.at) {
				g.origins = append(g.origins, p.at-offLeft)
			}
		}
		units := map[int]float64{}
		for _, m := range marks {
			if !m.colon {
				units[m.strip] = m.x - offLeft
			}
		}
		g.extent(byStrip, units)
		return
	}
	// Without a point the units' digit ends the line, but for a unit's letters, which
	// never change.
	units := map[int]float64{}
	for letters := 0; letters < 3 && len(g.origins) == 0; letters++ {
		var last []instance
		var centres []float64
		for strip, ins := range byStrip {
			if len(ins) <= letters {
				continue
			}
			in := ins[len(ins)-1-letters]
			units[strip] = in.centre
			if wide(in) {
				last, centres = append(last, in), append(centres, in.centre)
			}
		}
		for _, p := range commonest(centres, 1.2) {
			if p.count*10 >= len(last) && changes(last, p.at) {
				g.origins = append(g.origins, p.at)
			}
		}
	}
	g.extent(byStrip, units)
}

// slides tells whether digits are each as wide as it is: then the units stand at places
// that are no whole digits apart.
func (g *grid) slides() bool {
	for _, o := range g.origins {
		if off := (o - g.origins[0]) / g.pitch; math.Abs(off-math.Round(off)) > 0.1 {
			return true
		}
	}
	return false
}

// slidesTo tells whether the units may stand at a place as well, the first one being
// where they stand most: text slides by whole digits, unless each is as wide as it is.
func (g *grid) slidesTo(at float64, often bool) bool {
	if len(g.origins) == 0 || often {
		return true
	}
	off := (at - g.origins[0]) / g.pitch
	return math.Abs(off-math.Round(off)) < 0.2
}

// together tells whether marks at a place mostly come with a point where points mostly
// stand: then they are something else, since a number has one.
func together(marks []mark, origins []float64, offLeft, at float64) bool {
	if len(origins) == 0 {
		return false
	}
	points := map[int]bool{}
	for _, m := range marks {
		if math.Abs(m.x-offLeft-origins[0]) < 1.5 {
			points[m.strip] = true
		}
	}
	both, all := 0, 0
	for _, m := range marks {
		if math.Abs(m.x-at) < 1.5 {
			all++
			if points[m.strip] {
				both++
			}
		}
	}
	return 2*both > all
}

// changes tells whether what ends the line at a place isn't always the same, as a
// letter of the unit is.
func changes(last []instance, at float64) bool {
	count, sum, most := map[int]int{}, 0, 0
	for _, in := range last {
		if math.Abs(in.centre-at) < 2 {
			count[in.group]++
			sum++
			most = max(most, count[in.group])
		}
	}
	return most*20 <= sum*19
}

// extent counts the cells to both sides of the point. What follows the digits and
// never changes is a unit.
// units is where each strip's units stand.
func (g *grid) extent(byStrip map[int][]instance, units map[int]float64) {
	var cells [2][12]map[int]int // by group
	count := func(side, k int) (sum, most int) {
		for _, n := range cells[side][k] {
			sum += n
			most = max(most, n)
		}
		return sum, most
	}
	for strip, ins := range byStrip {
		unit, ok := units[strip]
		if !ok {
			continue
		}
		for _, in := range ins {
			for _, o := range g.origins {
				if side, k, ok := g.cell(in.centre, o); ok && math.Abs(o-unit) < 0.34*g.pitch {
					if cells[side][k] == nil {
						cells[side][k] = map[int]int{}
					}
					cells[side][k][in.group]++
				}
			}
		}
	}
	first, _ := count(1, 0)
	for k := range 4 {
		sum, most := count(1, k)
		if g.step == 0 || sum*2 <= first || g.decimals != k || most*20 > sum*19 {
			break
		}
		g.decimals = k + 1
	}
	ones, _ := count(0, 0)
	for k := range 6 {
		sum, _ := count(0, k)
		if sum*200 > ones && sum >= 2 && g.whole == k {
			g.whole = k + 1
		}
	}
}

// cell tells which cell of an origin a digit stands in: how many ahead of the
// units (side 0) or behind the point (side 1).
func (g *grid) cell(centre, origin float64) (side, k int, ok bool) {
	d := (origin - centre) / g.pitch
	if n := math.Round(d); n >= 0 && n < 12 && math.Abs(d-n) < 0.34 {
		return 0, int(n), true
	}
	if g.step == 0 {
		return 0, 0, false
	}
	d = (centre - origin - g.step) / g.pitch
	if n := math.Round(d); n >= 0 && n < 12 && math.Abs(d-n) < 0.34 {
		return 1, int(n), true
	}
	return 0, 0, false
}

// centre is where the digit of a cell stands.
func (g *grid) centre(origin float64, side, k int) float64 {
	if side == 0 {
		return origin - float64(k)*g.pitch
	}
	return origin + g.step + float64(k)*g.pitch
}
