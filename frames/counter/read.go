package counter

import (
	"context"
	"image"
	"math"
	"slices"
)

// A reader knows a line's grid and its digits.
type reader struct {
	grid   grid
	digits [10]*model
	minus  *model
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
	r, ok := sh.findRow()
	if !ok {
		return nil, false
	}
	all, marks := sh.instances(r)
	if len(all) < 12 {
		return nil, false
	}
	tall := float64(r.height()) / float64(sh.enlarge)
	groups := grouped(all)
	label(groups, tall)
	g, ok := layOut(all, marks, groups, tall)
	if !ok || g.whole == 0 {
		return nil, false
	}
	scale := sh.enlarge
	g.top, g.bottom = max(r.top/scale-2, 0), min((r.bottom+scale-1)/scale+2, sh.strips[0].Rect.Dy())
	rd := &reader{grid: g, bounds: sh.strips[0].Rect}
	rd.wide = int(math.Ceil(g.pitch))
	rd.left = rd.wide / 2
	for d := range rd.digits {
		rd.digits[d] = newModel(rd.wide * (g.bottom - g.top))
	}
	rd.ground = rd.background(sh)
	for _, in := range all {
		if in.group < 0 || groups[in.group].digit < 0 {
			continue
		}
		if c, ok := rd.snapped(in); ok {
			rd.digits[groups[in.group].digit].see(sh.strips[in.strip], c)
		}
	}
	rd.settle()
	rd.layouts()
	for range 3 {
		rd.refine(sh)
	}
	return rd, true
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
	for _, m := range r.digits {
		m.settle(r.ground)
	}
}

// layouts lists the ways of filling the grid.
func (r *reader) layouts() {
	r.layout = nil
	for _, o := range r.grid.origins {
		for whole := 1; whole <= r.grid.whole+1; whole++ {
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

// A sight is one strip as seen by the reader.
type sight struct {
	layout int
	digits []int8
	fits   [][10]float64 // of each cell
	better float64       // than the background
	margin float64       // of the least sure digit
	bad    float64       // of the worst cell, by what is usual: 0 as usual
	rival  float64       // how much better than the best other layout
}

// temper is what a pixel's say is worth: neighbours say the same.
const temper = 1.0 / 6

// look reads one strip, moved by a little where that fits better.
func (r *reader) look(img *image.Gray) sight { return r.lookAt(img, 0, 0) }

func (r *reader) lookAt(img *image.Gray, dx, dy int) sight {
	cache := map[cellAt][10]float64{}
	fits := func(c cellAt) [10]float64 {
		f, ok := cache[c]
		if ok {
			return f
		}
		m := c.moved(dx, dy)
		for d, model := range r.digits {
			f[d] = math.Inf(-1)
			if model.known && m.inside(r.bounds) {
				f[d], _ = model.fit(img, m, r.ground)
			}
		}
		cache[c] = f
		return f
	}
	s := sight{layout: -1, better: math.Inf(-1), rival: math.Inf(1)}
	second := math.Inf(-1)
	for i, l := range r.layout {
		if r.fixed > 0 && l.whole != r.fixed {
			continue
		}
		sum := 0.0
		for _, c := range l.cells {
			f := fits(c)
			sum += f[best(f)]
		}
		if sum > s.better {
			second = s.better
			s.layout, s.better = i, sum
		} else if sum > second {
			second = sum
		}
	}
	if s.layout < 0 || math.IsInf(s.better, -1) {
		return sight{layout: -1}
	}
	s.rival = (s.better - second) * temper
	s.margin = math.Inf(1)
	for _, c := range r.layout[s.layout].cells {
		f := fits(c)
		d := best(f)
		next := math.Inf(-1)
		for e := range f {
			if e != d {
				next = max(next, f[e])
			}
		}
		s.fits = append(s.fits, f)
		s.digits = append(s.digits, int8(d))
		s.margin = min(s.margin, (f[d]-next)*temper)
		_, bad := r.digits[d].fit(img, c.moved(dx, dy), r.ground)
		if m := r.digits[d]; m.unusual > 0 {
			bad = (bad - m.usual) / m.unusual
		} else {
			bad -= 1
		}
		s.bad = max(s.bad, bad)
	}
	return s
}

// What a sight must have to be believed by itself.
const (
	sureMargin = 4.0
	sureRival  = 3.0
	worstFit   = 4.0
)

func (s *sight) sure() bool {
	return s.layout >= 0 && s.margin > sureMargin && s.rival > sureRival && s.bad < worstFit && s.better*temper > 3*float64(len(s.digits))
}

// refine learns again from what the reader reads surely, where it stands exactly.
func (r *reader) refine(sh *sheet) {
	sights := make([]sight, len(sh.strips))
	wholes := map[int]int{}
	for i, img := range sh.strips {
		sights[i] = r.look(img)
		if sights[i].sure() {
			wholes[r.layout[sights[i].layout].whole]++
		}
	}
	r.fixed = 0
	for n, count := range wholes {
		if total := len(sh.strips); len(wholes) == 1 && n >= 2 && count*10 > total {
			r.fixed = n
		}
	}
	for _, m := range r.digits {
		m.forget()
	}
	r.sights(sh, sights, func(m *model, img *image.Gray, c cellAt) { m.see(img, c) })
	r.settle()
	bads := map[*model][]float64{}
	r.sights(sh, sights, func(m *model, img *image.Gray, c cellAt) {
		_, bad := m.fit(img, c, r.ground)
		bads[m] = append(bads[m], bad)
	})
	for m, values := range bads {
		slices.Sort(values)
		m.usual = values[len(values)/2]
		m.unusual = max(values[len(values)*84/100]-m.usual, 0.15)
	}
}

func (r *reader) sights(sh *sheet, sights []sight, do func(*model, *image.Gray, cellAt)) {
	for i, s := range sights {
		if s.layout < 0 || !(s.margin > sureMargin/2 && s.rival > sureRival/2 && s.bad < worstFit) {
			continue
		}
		for k, c := range r.layout[s.layout].cells {
			do(r.digits[s.digits[k]], sh.strips[i], c)
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
	value := 0.0
	whole := r.layout[s.layout].whole
	for k, d := range s.digits {
		if k == whole {
			text = append(text, '.')
		}
		text = append(text, byte('0'+d))
		value = 10*value + float64(d)
	}
	return string(text), value / math.Pow10(r.grid.decimals)
}
