package counter

import "image"

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
func (r *reader) findMinus(sh *sheet, dashes []dash, all []instance) minus {
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
		return minus{}
	}
	m := minus{newModel(r.wide * (r.grid.bottom - r.grid.top)), peaks[0].at}
	for _, d := range dashes {
		if f, ok := first[d.strip]; ok && f-d.x > m.ahead-1.5 && f-d.x < m.ahead+1.5 {
			if c := r.cellAt(f - m.ahead); c.inside(r.bounds) && c.ink(sh.strips[d.strip], d.level, r.scratch) {
				m.see(r.scratch)
			}
		}
	}
	m.settle()
	return m
}

// leastMinus is from how many nats a pixel a minus is believed in.
const leastMinus = 0.02

// seeMinus tells how well a minus ahead of a layout's digits matches.
func (r *reader) seeMinus(img *image.Gray, layout int) (match float32) {
	if r.minus.model == nil || !r.minus.known {
		return 0
	}
	for dx := -1; dx <= 1; dx++ {
		c := r.cellAt(r.centres[r.layout[layout].places[0]] - r.minus.ahead).moved(dx)
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
	if r.minus.model == nil || !r.minus.known {
		return 0, false
	}
	pixels := len(r.minus.mean)
	return nats(float64(v.minus[layout]), pixels) - leastMinus*float64(pixels), true
}
