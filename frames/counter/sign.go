package counter

import (
	"slices"
)

// A sign is a digit as this recorder writes it.
type sign struct {
	*model
	digit int
	like  [10]float64 // to known digits
	sure  float64     // how much better this digit explains the recording than the next best, in nats
}

func (r *reader) newModel() *model { return newModel(r.wide, r.grid.bottom-r.grid.top) }

// refine learns the signs again from what was seen clearly, where it stands exactly.
func (r *reader) refine(sh *sheet, sights []sight) {
	for _, s := range r.signs {
		s.forget()
	}
	r.each(sh, sights, func(s sign, ink []float32, _ float32) { s.see(ink) })
	r.settle()
	matches := map[*model][]float64{}
	r.each(sh, sights, func(s sign, _ []float32, match float32) {
		matches[s.model] = append(matches[s.model], float64(match))
	})
	for m, values := range matches {
		slices.Sort(values)
		m.usual = values[len(values)/2]
	}
	r.demand()
}

// demand sets what is asked of a match: that it be nearer to perfect than the
// likest other digit would be, or as good as this digit's weaker sights.
func (r *reader) demand() {
	for i := range r.signs {
		m, kin := r.signs[i].model, 0.4
		for j := range r.signs {
			if j != i && r.signs[j].known {
				kin = max(kin, float64(m.match(r.signs[j].ink)))
			}
		}
		m.least = min(1-(1-kin)/2, m.usual-(1-m.usual))
	}
}

// each hands over every sign seen clearly, and where.
func (r *reader) each(sh *sheet, sights []sight, do func(s sign, ink []float32, match float32)) {
	for i := range sights {
		s := &sights[i]
		if !s.clear() {
			continue
		}
		r.hideWalls(sh.strips[i])
		for k, p := range r.layout[s.layout].places {
			sign := r.signs[s.signs[k]]
			ink, match := r.bestInk(sh.strips[i], r.places[p], &sign)
			do(sign, ink, match)
		}
	}
}

func (r *reader) settle() {
	for _, s := range r.signs {
		s.settle()
	}
}
