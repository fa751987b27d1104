package counter

import (
	"context"
	"image"
	"math"
	"slices"
)

// A reader knows a line's grid and its signs.
type reader struct {
	grid   grid
	signs  []sign
	minus  minus
	ground ground
	bounds image.Rectangle
	left   int // of a cell, from its centre
	wide   int
	layout []layout
	fixed  int // digits ahead of the point where they are always as many; 0 otherwise
}

// A layout is one way of filling the grid: an origin and so many digits ahead of the point.
type layout struct {
	origin float64
	whole  int
	cells  []cellAt // from the left
}

// learn makes a reader of the strips of a sheet; false where there are no digits.
func learn(sh *sheet) (*reader, bool) {
	row, ok := sh.findRow()
	if !ok {
		return nil, false
	}
	all, marks, dashes := sh.instances(row)
	if len(all) < 12 {
		return nil, false
	}
	tall := float64(row.height()) / float64(sh.enlarge)
	groups := merged(grouped(all), all)
	liken(groups, tall)
	g, ok := layOut(all, marks, groups, tall)
	if !ok || g.whole == 0 {
		return nil, false
	}
	scale := sh.enlarge
	g.top, g.bottom = max(row.top/scale-2, 0), min((row.bottom+scale-1)/scale+2, sh.strips[0].Rect.Dy())
	r := &reader{grid: g, bounds: sh.strips[0].Rect}
	r.wide = int(math.Ceil(g.pitch))
	r.left = r.wide / 2
	r.ground = r.background(sh)
	r.firstSigns(sh, all, groups)
	r.minus = r.findMinus(sh, dashes, all)
	r.layouts()
	for range 3 {
		sights := r.lookAll(sh)
		r.relabel(sh, sights)
		r.refine(sh, sights)
	}
	r.relabel(sh, r.lookAll(sh))
	return r, true
}

// firstSigns makes a sign of each group, from where its instances stand in the grid.
func (r *reader) firstSigns(sh *sheet, all []instance, groups []group) {
	number := make([]int, len(groups))
	for i, g := range groups {
		number[i] = -1
		if g.digit >= 0 {
			number[i] = len(r.signs)
			r.signs = append(r.signs, sign{newModel(r.wide * (r.grid.bottom - r.grid.top)), g.mean, g.like, g.digit})
		}
	}
	for _, in := range all {
		if in.group < 0 || number[in.group] < 0 {
			continue
		}
		if c, ok := r.snapped(in); ok {
			r.signs[number[in.group]].see(sh.strips[in.strip], c)
		}
	}
	r.signs = slices.DeleteFunc(r.signs, func(s sign) bool { return s.n < leastGroup })
	r.firstLabels()
	r.settle()
}

// background is what the strips are like beside the writing.
func (r *reader) background(sh *sheet) ground {
	first, last := r.grid.centre(slices.Min(r.grid.origins), 0, r.grid.whole-1), slices.Max(r.grid.origins)
	from, to := int(first-1.5*r.grid.pitch), int(last+r.grid.step+(float64(r.grid.decimals)+2.5)*r.grid.pitch)
	sum, squares, n := 0.0, 0.0, 0.0
	for _, img := range sh.strips {
		for y := r.grid.top; y < r.grid.bottom; y++ {
			for x := range img.Rect.Dx() {
				if x >= from && x < to {
					continue
				}
				v := float64(img.Pix[y*img.Stride+x])
				sum += v
				squares += v * v
				n++
			}
		}
	}
	if n < 500 {
		return ground{110, 60}
	}
	mean := sum / n
	return ground{float32(mean), float32(max(math.Sqrt(max(squares/n-mean*mean, 0)), 30))}
}

func (r *reader) cellAt(centre float64) cellAt {
	left := int(math.Round(centre)) - r.left
	return cellAt{left, left + r.wide, r.grid.top, r.grid.bottom}
}

// snapped is the cell that an instance stands in.
func (r *reader) snapped(in instance) (cellAt, bool) {
	for _, o := range r.grid.origins {
		side, k, ok := r.grid.cell(in.centre, o)
		if !ok || side == 0 && k >= r.grid.whole || side == 1 && k >= r.grid.decimals {
			continue
		}
		c := r.cellAt(r.grid.centre(o, side, k))
		return c, c.inside(r.bounds)
	}
	return cellAt{}, false
}

func (r *reader) settle() {
	for _, s := range r.signs {
		s.settle(r.ground)
	}
}

// layouts lists the ways of filling the grid.
func (r *reader) layouts() {
	for _, o := range r.grid.origins {
		for whole := 1; whole <= r.grid.whole; whole++ {
			l := layout{origin: o, whole: whole}
			for k := whole - 1; k >= 0; k-- {
				l.cells = append(l.cells, r.cellAt(r.grid.centre(o, 0, k)))
			}
			for k := range r.grid.decimals {
				l.cells = append(l.cells, r.cellAt(r.grid.centre(o, 1, k)))
			}
			if !slices.ContainsFunc(l.cells, func(c cellAt) bool { return !c.inside(r.bounds) }) {
				r.layout = append(r.layout, l)
			}
		}
	}
}

// refine learns the signs again from what was seen clearly, where it stands exactly.
func (r *reader) refine(sh *sheet, sights []sight) {
	wholes := map[int]int{}
	for i := range sights {
		if sights[i].sure() {
			wholes[r.layout[sights[i].layout].whole]++
		}
	}
	r.fixed = 0
	for n, count := range wholes {
		if len(wholes) == 1 && n >= 2 && count*10 > len(sights) {
			r.fixed = n
		}
	}
	for _, s := range r.signs {
		s.forget()
	}
	r.each(sh, sights, func(s sign, img *image.Gray, c cellAt) { s.see(img, c) })
	r.settle()
	bads := map[*model][]float64{}
	r.each(sh, sights, func(s sign, img *image.Gray, c cellAt) {
		_, bad := s.fit(img, c, r.ground)
		bads[s.model] = append(bads[s.model], bad)
	})
	for m, values := range bads {
		slices.Sort(values)
		m.usual = values[len(values)/2]
		m.unusual = max(values[len(values)*84/100]-m.usual, 0.15)
	}
}

// each hands over every sign seen clearly, and where.
func (r *reader) each(sh *sheet, sights []sight, do func(sign, *image.Gray, cellAt)) {
	for i := range sights {
		s := &sights[i]
		if !s.clear() {
			continue
		}
		for k, c := range r.layout[s.layout].cells {
			do(r.signs[s.signs[k]], sh.strips[i], c)
		}
	}
}

// Read makes out what a region's strips show. The error is ctx's or the strips'.
func Read(ctx context.Context, s Strips, o Options) (*Line, error) {
	line := &Line{Box: s.Bounds(), Kind: Nothing, strips: s}
	sh, err := newSheet(s)
	if err != nil {
		return nil, err
	}
	r, ok := learn(sh)
	if !ok {
		line.Why = "no digits were made out"
		return line, nil
	}
	line.Decimals = r.grid.decimals
	img := image.NewGray(image.Rect(0, 0, s.Bounds().Dx(), s.Bounds().Dy()))
	for i := range s.Len() {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if err := s.Read(i, img); err != nil {
			return nil, err
		}
		sight := r.look(img)
		line.Samples = append(line.Samples, r.sample(s, i, &sight))
	}
	line.judge(r, o)
	return line, nil
}

func (r *reader) sample(s Strips, i int, seen *sight) Sample {
	out := Sample{At: s.At(i)}
	if !seen.sure() {
		return out
	}
	out.State, out.Margin = AsShown, min(seen.margin, seen.rival)
	out.Text, out.Value = r.text(seen)
	return out
}

func (r *reader) text(s *sight) (string, float64) {
	var text []byte
	value := r.value(s)
	if s.negative {
		text, value = append(text, '-'), -value
	}
	whole := r.layout[s.layout].whole
	for k, n := range s.signs {
		if k == whole {
			text = append(text, '.')
		}
		text = append(text, byte('0'+r.signs[n].digit))
	}
	return string(text), value
}
