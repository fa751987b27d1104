package counter

import (
	"math"

	"pushcue/timeline/timecode"
)

// learn makes a reader of the strips of a sheet; nil where there are no digits.
func learn(sh *sheet) *reader {
	c := sh.cutUp()
	if c == nil {
		return nil
	}
	all, marks, groups, tall := c.all, c.marks, c.groups, c.tall
	g, number, ok := layOut(all, groups, marks, tall)
	if !ok || g.whole == 0 {
		return nil
	}
	r := newReader(sh, c, g)
	r.layouts()
	if r.leavesOut(all, groups, tall) || r.missesPoint(all, marks, tall) {
		return nil
	}
	r.findMinus(sh, c.dashes, number)
	r.firstSigns(sh, number, groups, c.alike)
	for range 3 {
		sights := r.lookAll(sh)
		r.fixWhole(sights)
		r.refine(sh, sights)
	}
	for i := range r.signs {
		r.signs[i].known = r.signs[i].known && r.signs[i].n > 0
	}
	return r
}

// leavesOut tells whether digits that change stand beside the places of the grid or
// between them: it was not made out whole then, and a number without some of its
// digits would be read.
func (r *reader) leavesOut(all []instance, groups []group, tall float64) bool {
	first, last := math.Inf(1), 0.0
	for _, c := range r.centres {
		first, last = min(first, c), max(last, c)
	}
	kinds := map[int]map[int]int{} // digits by where they stand
	for _, in := range all {
		if in.group < 0 || in.centre < first-1.5*tall || in.centre > last+2*tall {
			continue
		}
		if _, ok := r.snapped(in); !ok {
			at := int(in.centre / (0.5 * tall))
			if kinds[at] == nil {
				kinds[at] = map[int]int{}
			}
			kinds[at][groups[in.group].digit]++
		}
	}
	for _, digits := range kinds {
		seen := 0
		for _, n := range digits {
			if n >= leastGroup {
				seen++
			}
		}
		if seen > 3 {
			return true
		}
	}
	return false
}

// missesPoint tells whether digits stand behind a point that the grid knows nothing of:
// they can't be made out most of the time.
func (r *reader) missesPoint(all []instance, marks []mark, tall float64) bool {
	if r.grid.step > 0 {
		return false
	}
	last := 0.0
	for _, c := range r.centres {
		last = max(last, c)
	}
	known := map[int]bool{} // groups that stand in places
	behind := map[int][]instance{}
	for _, in := range all {
		if in.group < 0 {
			continue
		}
		if _, ok := r.snapped(in); ok {
			known[in.group] = true
		} else if in.centre > last {
			behind[in.strip] = append(behind[in.strip], in)
		}
	}
	strips := map[int]bool{}
	for _, m := range marks {
		for _, in := range behind[m.strip] {
			if known[in.group] && m.x > last && m.x < last+1.3*tall && in.centre > m.x && in.centre < m.x+1.3*tall {
				strips[m.strip] = true
			}
		}
	}
	return len(strips) >= leastGroup
}

// A cutting is what was cut out of a sheet's strips: digits in groups, and marks.
type cutting struct {
	row    row
	levels []cut
	all    []instance
	marks  []mark
	dashes []dash
	groups []group
	alike  float64 // correlation within a group
	tall   float64 // height of the digits in pixels of the strips
}

// cutUp cuts the strips up, once; nil where there is nothing like digits.
func (sh *sheet) cutUp() *cutting {
	if sh.tried {
		return sh.cutting
	}
	sh.tried = true
	row, ok := sh.findRow()
	if !ok {
		return nil
	}
	c := &cutting{row: row, levels: sh.bestLevels(row), tall: float64(row.height()) / float64(sh.enlarge)}
	c.all, c.marks, c.dashes = sh.instances(row, c.levels)
	if len(c.all) < 12 {
		return nil
	}
	c.groups, c.alike = grouped(c.all)
	liken(c.groups, c.tall)
	c.all, c.groups = digitsOnly(c.all, c.groups)
	sh.cutting = c
	return c
}

// firstSigns makes a sign of each digit, from groups that were labelled by how
// the counter runs.
func (r *reader) firstSigns(sh *sheet, all []instance, groups []group, alike float64) {
	run := runOf(func(i int) timecode.Video { return sh.at[i] }, r.groupSights(sh, all))
	l := newLabeller(groups, run, math.Pow10(r.grid.decimals), alike)
	digits := l.label()
	r.signsOf(sh, all, groups, digits)
}

// signsOf makes a sign of each digit from all groups that were labelled so.
func (r *reader) signsOf(sh *sheet, all []instance, groups []group, digits []int8) {
	r.alignPlaces(all, digits)
	number := [10]int{-1, -1, -1, -1, -1, -1, -1, -1, -1, -1}
	for _, in := range all {
		p, ok := r.snapped(in)
		if in.group < 0 || !ok || digits[in.group] < 0 {
			continue
		}
		d := digits[in.group]
		if number[d] < 0 {
			number[d] = len(r.signs)
			r.signs = append(r.signs, sign{model: r.newModel(), digit: int(d)})
		}
		sign := &r.signs[number[d]]
		if r.places[p].ink(sh.strips[in.strip], in.level, r.scratch) {
			sign.see(r.scratch)
			for k, how := range groups[in.group].like {
				sign.like[k] += (how - sign.like[k]) / float64(sign.n)
			}
		}
	}
	r.settle()
}

// groupSights are the strips as the cutting saw them, where each place of a
// layout holds a digit.
func (r *reader) groupSights(sh *sheet, all []instance) []sight {
	sights := make([]sight, len(sh.strips))
	at := make([]map[int]int8, len(sh.strips)) // group by place
	for i := range sights {
		sights[i].layout = -1
		at[i] = map[int]int8{}
	}
	for _, in := range all {
		if p, ok := r.snapped(in); ok {
			at[in.strip][p] = int8(in.group)
		}
	}
	for i := range sights {
		s := &sights[i]
		for n, l := range r.layout {
			whole := true
			var signs []int8
			for _, p := range l.places {
				g, ok := at[i][p]
				whole = whole && ok && g >= 0
				signs = append(signs, g)
			}
			if whole && len(signs) > len(s.signs) {
				*s = sight{layout: n, signs: signs, margin: sureMargin, rival: sureRival}
			}
		}
		if s.layout >= 0 && len(at[i]) > len(s.signs) {
			s.layout = -1 // more digits than a layout holds: one of them was not made out
		}
	}
	return sights
}

// alignPlaces moves each place to where its digits begin, so that a digit covers
// the same pixels of its cell wherever it stands.
func (r *reader) alignPlaces(all []instance, digits []int8) {
	type sum struct{ total, n float64 }
	places := make([]sum, len(r.places))
	for range 3 {
		var starts [10]sum
		next := make([]sum, len(r.places))
		of := func(s sum) float64 { return s.total / max(s.n, 1) }
		for pass := range 2 {
			for _, in := range all {
				p, ok := r.snapped(in)
				if in.group < 0 || !ok || digits[in.group] < 0 {
					continue
				}
				d := digits[in.group]
				start := in.left - r.centres[p]
				if pass == 0 {
					starts[d].total += start - of(places[p])
					starts[d].n++
				} else {
					next[p].total += start - of(starts[d])
					next[p].n++
				}
			}
		}
		places = next
	}
	// All are rounded with one phase, that at which least is lost.
	phase, least := 0.0, math.Inf(1)
	at := func(p int) float64 { return r.centres[p] + places[p].total/max(places[p].n, 1) - float64(r.left) }
	for f := 0.0; f < 1; f += 0.05 {
		lost := 0.0
		for p := range places {
			d := at(p) - f
			d -= math.Round(d)
			lost += places[p].n * d * d
		}
		if lost < least {
			phase, least = f, lost
		}
	}
	for p := range r.places {
		left := int(math.Round(at(p) - phase))
		r.places[p].left, r.places[p].right = left, left+r.wide
	}
}
