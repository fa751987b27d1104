package counter

import (
	"image"
	"slices"
)

// A minus is the bar ahead of a number below zero, where one was ever seen.
type minus struct {
	*model
	ahead float64 // of the first digit's centre
}

// A dash is a flat bar at half the digits' height.
type dash struct {
	strip int
	x     float64
	level cut
}

// dashes finds bars that stand left of all digits.
func (sh *sheet) dashes(strip int, r row, level cut, digits, all []part) (found []dash) {
	h := r.height()
	for _, p := range all {
		w, tall := p.box.Dx(), p.box.Dy()
		middle := p.box.Min.Y + p.box.Max.Y - 2*r.top // twice, from the top
		if 3*tall > h || w < tall || 6*w < h || w > h || 10*middle < 6*h || 10*middle > 15*h {
			continue
		}
		first := digits[0].box.Min.X
		if gap := first - p.box.Max.X; gap < -1 || 4*gap > 3*h {
			continue
		}
		found = append(found, dash{strip, float64(p.box.Min.X+p.box.Max.X) / 2 / float64(sh.enlarge), level})
	}
	return found
}

// findMinus learns the minus from dashes that stand at one distance from the digits.
func (r *reader) findMinus(sh *sheet, dashes []dash, all []instance) {
	first := map[int]float64{}
	for _, in := range all {
		if p, ok := r.snapped(in); ok {
			centre := r.centres[p]
			if f, there := first[in.strip]; !there || centre < f {
				first[in.strip] = centre
			}
		}
	}
	var ahead []float64
	for _, d := range dashes {
		if f, ok := first[d.strip]; ok {
			ahead = append(ahead, f-d.x)
		}
	}
	peaks := commonest(ahead, 1)
	if len(peaks) == 0 || peaks[0].count < leastGroup || peaks[0].count*2 < len(ahead) {
		return
	}
	m := minus{r.newModel(), peaks[0].at}
	dashed := map[int]bool{}
	for _, d := range dashes {
		if f, ok := first[d.strip]; ok && f-d.x > m.ahead-1.5 && f-d.x < m.ahead+1.5 {
			dashed[d.strip] = true
			if c := r.cellAt(f - m.ahead); c.inside(r.bounds) && c.ink(sh.strips[d.strip], d.level, r.scratch) {
				m.see(r.scratch)
			}
		}
	}
	if m.settle(); m.known {
		r.minus = m
		r.tellMinus(sh, dashed, first)
	}
}

// tellMinus finds from which match on a minus is believed in: half way between
// what strips with a dash have, and what those without have by chance.
func (r *reader) tellMinus(sh *sheet, dashed map[int]bool, first map[int]float64) {
	var with, without []float64
	for strip, f := range first {
		if match := float64(r.matchMinus(sh.strips[strip], f)); dashed[strip] {
			with = append(with, match)
		} else {
			without = append(without, match)
		}
	}
	slices.Sort(with)
	slices.Sort(without)
	usual, chance := with[len(with)/2], 0.3
	if len(without) > 0 {
		chance = max(chance, without[len(without)*9/10])
	}
	r.minus.usual, r.minus.least = usual, (usual+chance)/2
	if usual-chance < leastContrast {
		r.minus.model = nil // something that comes and goes as the pipe moves
	}
}

// leastContrast is by how much a minus must match better than none.
const leastContrast = 0.15

// seeMinus tells how well a minus ahead of a layout's digits matches.
func (r *reader) seeMinus(img *image.Gray, layout int) (match float32) {
	if r.minus.model == nil {
		return 0
	}
	return r.matchMinus(img, r.centres[r.layout[layout].places[0]])
}

// matchMinus looks for a minus ahead of a first digit.
func (r *reader) matchMinus(img *image.Gray, first float64) (match float32) {
	for dx := -1; dx <= 1; dx++ {
		c := r.cellAt(first - r.minus.ahead).moved(dx)
		if !c.inside(r.bounds) {
			continue
		}
		for _, level := range r.levels {
			if c.ink(img, level, r.scratch) {
				match = max(match, r.minus.match(r.scratch))
			}
		}
	}
	return match
}

// minusAt is how much better a minus ahead of a layout's digits fits than none, in
// nats; false where no minus is known.
func (r *reader) minusAt(v *view, layout int) (float64, bool) {
	if r.minus.model == nil {
		return 0, false
	}
	pixels := len(r.minus.mean)
	return nats(float64(v.minus[layout]), pixels) - nats(r.minus.least, pixels), true
}
