package counter

import (
	"image"
	"math"

	"pushcue/timeline/distance"
)

// fewestUnits is how many clear strips must show what stands behind the digits.
const fewestUnits = 12

// unit tells the unit behind the digits where its letters are plainly an m or ft;
// "" otherwise: a wrong unit would be worse than none.
func (r *reader) unit(sh *sheet, sights []sight) distance.Unit {
	behind, n := r.behind(sh, sights)
	if n < fewestUnits {
		return ""
	}
	letters := parts(behind, cut{level: 128}, &partsScratch{})
	base, tall := r.grid.bottom-2, float64(r.grid.bottom-r.grid.top-4)
	var on []part
	for _, p := range letters {
		if abs(p.box.Max.Y-base) <= max(1, int(tall/8)) && float64(p.box.Dy()) > 0.5*tall {
			on = append(on, p)
		}
	}
	if len(on) == 0 || len(on) > 2 || float64(on[0].box.Min.X) > 1.6*r.grid.pitch {
		return ""
	}
	high := func(p part) float64 { return float64(p.box.Dy()) / tall }
	wide := func(p part) float64 { return float64(p.box.Dx()) / float64(p.box.Dy()) }
	first := on[0]
	switch {
	case len(on) == 1 && high(first) < 0.88 && wide(first) > 0.75 && legs(behind, first) == 3:
		return distance.Metre
	case len(on) == 2 && high(first) > 0.9 && wide(first) < 0.75 && high(on[1]) > 0.75 && wide(on[1]) < 0.75 && legs(behind, first) == 1 && legs(behind, on[1]) == 1:
		return distance.Foot
	case len(on) == 1 && high(first) > 0.9 && wide(first) < 1.15 && wide(first) > 0.6 && legs(behind, first) == 2 && crossed(behind, first):
		return distance.Foot
	}
	return ""
}

// behind is the ink behind the last digit, as it is on most strips: 255 for ink.
func (r *reader) behind(sh *sheet, sights []sight) (*image.Gray, int) {
	wide, tall := int(2.6*r.grid.pitch), r.bounds.Dy()
	sums, n := make([]int, wide*tall), 0
	for i := range sights {
		s := &sights[i]
		if !s.sure() {
			continue
		}
		places := r.layout[s.layout].places
		from := int(math.Round(r.centres[places[len(places)-1]] + r.grid.pitch/2))
		if from+wide > r.bounds.Dx() {
			wide = 0
			break
		}
		img := sh.strips[i]
		for y := range tall {
			for x := range wide {
				if v := img.Pix[y*img.Stride+from+x]; (v >= r.levels[0].level) != r.levels[0].dark {
					sums[y*wide+x]++
				}
			}
		}
		if n++; n >= 120 {
			break
		}
	}
	out := image.NewGray(image.Rect(0, 0, max(wide, 1), tall))
	if wide == 0 {
		return out, 0
	}
	for i, sum := range sums {
		if 2*sum > n {
			out.Pix[i] = 255
		}
	}
	return out, n
}

// legs counts the strokes that a letter stands on, in its lower half; the middle one
// of an m may be shorter.
func legs(img *image.Gray, p part) (most int) {
	for _, up := range []int{p.box.Dy() / 4, p.box.Dy() / 2} {
		y, n := p.box.Max.Y-1-up, 0
		for x := p.box.Min.X; x < p.box.Max.X; x++ {
			if img.GrayAt(x, y).Y > 0 && (x == p.box.Min.X || img.GrayAt(x-1, y).Y == 0) {
				n++
			}
		}
		most = max(most, n)
	}
	return most
}

// crossed tells whether f and t run together: their bar goes from end to end.
func crossed(img *image.Gray, p part) bool {
	for y := p.box.Min.Y; y < p.box.Min.Y+p.box.Dy()/2; y++ {
		long := 0
		for x := p.box.Min.X; x < p.box.Max.X; x++ {
			if img.GrayAt(x, y).Y > 0 {
				long++
			}
		}
		if 10*long >= 9*p.box.Dx() {
			return true
		}
	}
	return false
}
