package counter

import (
	"context"
	"image"
	"math"
	"slices"

	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// A reader knows a line's grid and its signs.
type reader struct {
	grid      grid
	signs     []sign
	minus     minus
	levels    []cut  // that letters stand out at
	walls     []wall // by level
	scratch   []float32
	walled    []float32
	mixed     []float32
	bounds    image.Rectangle
	left      int // of a cell, from its centre
	wide      int
	layout    []layout
	places    []cellAt
	centres   []float64 // of the places, as the grid has them
	confirmed bool      // which digit is which
	reach     int       // how many pixels beside its place a digit is looked for
	fixed     int       // digits ahead of the point where they are always as many; 0 otherwise
}

// newReader is one that knows no signs and no layouts yet, for what was cut out of a sheet.
func newReader(sh *sheet, c *cutting, g grid) *reader {
	g.top = max(c.row.top/sh.enlarge-2, 0)
	g.bottom = min((c.row.bottom+sh.enlarge-1)/sh.enlarge+2, sh.strips[0].Rect.Dy())
	r := &reader{grid: g, bounds: sh.strips[0].Rect, levels: c.levels, wide: int(math.Ceil(g.pitch)), reach: 1}
	if g.slides() {
		r.reach = 2
	}
	r.left = r.wide / 2
	pixels := r.wide * (g.bottom - g.top)
	r.scratch, r.walled, r.mixed = make([]float32, pixels), make([]float32, pixels), make([]float32, pixels)
	r.walls = make([]wall, len(c.levels))
	return r
}

// A layout is one way of filling the grid: an origin and so many digits ahead of the point.
type layout struct {
	origin float64
	whole  int
	places []int // from the left, in the reader's places
	beside []int // places of other layouts that stand next to these
}

func (r *reader) cellAt(centre float64) cellAt {
	left := int(math.Round(centre)) - r.left
	return cellAt{left, left + r.wide, r.grid.top, r.grid.bottom}
}

// snapped is the place that an instance stands at; false where it is none's.
func (r *reader) snapped(in instance) (int, bool) {
	best, off := -1, 0.34*r.grid.pitch
	for p, c := range r.centres {
		if d := math.Abs(in.centre - c); d < off && r.places[p].inside(r.bounds) {
			best, off = p, d
		}
	}
	return best, best >= 0
}

// layouts lists the ways of filling the grid.
func (r *reader) layouts() {
	known := map[cellAt]int{}
	place := func(centre float64) (int, bool) {
		c := r.cellAt(centre)
		p, ok := known[c]
		if !ok {
			p = len(r.places)
			known[c] = p
			r.places = append(r.places, c)
			r.centres = append(r.centres, centre)
		}
		return p, c.inside(r.bounds)
	}
	for _, o := range r.grid.origins {
		for whole := 1; whole <= r.grid.whole; whole++ {
			l := layout{origin: o, whole: whole}
			inside := true
			add := func(side, k int) {
				p, ok := place(r.grid.centre(o, side, k))
				l.places = append(l.places, p)
				inside = inside && ok
			}
			for k := whole - 1; k >= 0; k-- {
				add(0, k)
			}
			for k := range r.grid.decimals {
				add(1, k)
			}
			if inside {
				r.layout = append(r.layout, l)
			}
		}
	}
	for i := range r.layout {
		r.findBeside(&r.layout[i])
	}
}

// findBeside finds the places next to a layout's. What shows a digit there, too, is
// not written in this layout.
func (r *reader) findBeside(l *layout) {
	first, last := r.centres[l.places[0]], r.centres[l.places[len(l.places)-1]]
	for p, c := range r.centres {
		ahead, behind := (first-c)/r.grid.pitch, (c-last)/r.grid.pitch
		if near := max(ahead, behind); near > 0.8 && near < 1.25 && r.places[p].inside(r.bounds) {
			l.beside = append(l.beside, p)
		}
	}
}

// fixWhole finds out whether there are always as many digits ahead of the point.
func (r *reader) fixWhole(sights []sight) {
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
}

// Read makes out what a region's strips show. The error is ctx's or the strips'.
func Read(ctx context.Context, s Strips, o Options) (*Line, error) {
	line := &Line{Box: s.Bounds(), Kind: Nothing, strips: s}
	sh, err := newSheet(s)
	if err != nil {
		return nil, err
	}
	r := learn(sh)
	if r == nil {
		line.Why = words.Tell("no digits were made out")
		return line, line.readClock(ctx, sh)
	}
	line.Decimals = r.grid.decimals
	views, err := r.viewAll(ctx, s)
	if err != nil {
		return nil, err
	}
	sights := make([]sight, len(views))
	for i := range views {
		sights[i] = r.sight(&views[i])
	}
	r.confirm(runOf(s.At, sights))
	for i := range sights {
		line.Samples = append(line.Samples, r.sample(s.At(i), &sights[i]))
	}
	r.throwOut(line.Samples, o)
	r.doubtSigns(line.Samples)
	r.fill(line.Samples, views, o)
	beside := r.legend(sh, r.lookAll(sh))
	line.judge(r, sights, beside, o)
	if line.Kind == Length || line.Kind == Still {
		line.Unit = beside.unit
		return line, nil
	}
	for i := range line.Samples {
		line.Samples[i] = Sample{At: line.Samples[i].At} // they are no lengths
	}
	return line, line.readClock(ctx, sh)
}

func (r *reader) viewAll(ctx context.Context, s Strips) ([]view, error) {
	views := make([]view, s.Len())
	img := image.NewGray(image.Rect(0, 0, s.Bounds().Dx(), s.Bounds().Dy()))
	for i := range views {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if err := s.Read(i, img); err != nil {
			return nil, err
		}
		views[i] = r.view(img)
	}
	return views, nil
}

func (r *reader) sample(at timecode.Video, seen *sight) Sample {
	out := Sample{At: at}
	if !seen.sure() || slices.ContainsFunc(seen.signs, func(n int8) bool { return r.signs[n].sure < sureLabel }) {
		return out
	}
	out.State, out.Margin = AsShown, min(seen.margin, seen.rival)
	out.Text, out.Value = r.text(seen)
	return out
}

func (r *reader) value(s *sight) float64 {
	v := 0.0
	for _, k := range s.signs {
		v = 10*v + float64(r.signs[k].digit)
	}
	return v / math.Pow10(r.grid.decimals)
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
