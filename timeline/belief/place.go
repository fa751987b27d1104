package belief

import (
	"cmp"
	"maps"
	"math"
	"slices"
)

// A Place is what is believed of when a row was seen.
type Place struct {
	From, Step float64
	Share      []float64 // of belief, by cell of Step from From on; sums to 1
	Spots      []Spot    // where its distance is shown, by how likely they are
	Typo       float64   // belief that its distance is a slip of the pen
	Astray     float64   // that its time is wrong
	Lost       float64   // that the recording doesn't show it
	Timed      bool      // its time was weighed

	typo []float64 // what of Share is a slip of the pen
	best Span      // of the likeliest explanation,
	slip bool      // which is that its distance is a slip of the pen
}

// A Spot is one pass of a row's distance.
type Spot struct {
	Span
	Share float64
	Place int
	Stand bool
}

const (
	finestCell   = 0.01 // seconds
	coarsestCell = 0.5
	cellsWanted  = 1500
	rareMoment   = 1e-4 // share of a row's clock that isn't followed further
	awayMatters  = 0.005
	rareFrame    = 0.01 // share of a frame that isn't looked at by itself
)

// believed is a row's belief in the making, on cells.
type believed struct {
	q          *Question
	row        *Row
	from, step float64
	clock      []float64 // density of the moment by its time, in one frame
	all, typo  []float64
	spots      map[[2]int]*Spot // by frame and place
	lost       float64
	astray     float64
}

// place weighs one row: its distance, and its time by the candidates of its clock,
// whose weights sum to 1. Without candidates its time tells nothing.
func (q *Question) place(r *Row, candidates []candidate, frames []float64) Place {
	b := &believed{q: q, row: r, spots: map[[2]int]*Spot{}}
	whole := Span{0, q.Parts[len(q.Parts)-1].To}
	window := whole
	if len(candidates) > 0 {
		window = b.window(candidates, whole)
	}
	b.weigh(window, candidates, frames, window == whole)
	if away := b.away(frames, window); len(candidates) > 0 && window != whole && away > awayMatters*sum(b.all) {
		b.spots = map[[2]int]*Spot{}
		b.weigh(whole, candidates, frames, true)
	}
	return b.finish(len(candidates) > 0)
}

// window is where a row's clock lets it have been seen.
func (b *believed) window(candidates []candidate, whole Span) Span {
	w := Span{math.Inf(1), math.Inf(-1)}
	for _, c := range candidates {
		if c.weight < rareMoment {
			continue
		}
		early, late := b.q.law(c.habit, b.row.Half).reach()
		w.From = min(w.From, max(c.in.From, c.x-min(late, longInGrid+b.row.Half)))
		w.To = max(w.To, min(c.in.To, c.x-early))
	}
	if w.To <= w.From {
		return whole
	}
	return Span{max(w.From, whole.From), min(w.To, whole.To)}
}

// away is the belief that the row was seen outside a window, its time being wrong.
func (b *believed) away(frames []float64, window Span) (sum float64) {
	for f, share := range frames {
		if share < rareRun {
			continue
		}
		d := b.q.densityOf(b.row, f)
		for _, p := range d.pieces {
			if length := p.To - p.From; length > 0 {
				inside := max(0, min(p.To, window.To)-max(p.From, window.From)) / length
				sum += share * d.astray * p.Mass * (1 - inside)
			}
		}
	}
	return sum
}

func sum(of []float64) (s float64) {
	for _, v := range of {
		s += v
	}
	return s
}

// weigh fills the cells of a window.
func (b *believed) weigh(window Span, candidates []candidate, frames []float64, anywhere bool) {
	b.step = min(max((window.To-window.From)/cellsWanted, finestCell), coarsestCell)
	b.from = window.From
	n := int(math.Ceil((window.To - window.From) / b.step))
	b.all, b.typo, b.clock = make([]float64, n), make([]float64, n), make([]float64, n)
	b.lost, b.astray = 0, 0
	for f, share := range frames {
		if share < rareFrame && f > 0 {
			continue
		}
		d := b.q.densityOf(b.row, f)
		astray := d.astray
		if len(candidates) == 0 { // as if its time were lost
			for i := range b.clock {
				b.clock[i] = share / b.q.Moments.whole
			}
			astray = 0
		} else {
			b.clocked(candidates, f)
			b.lost += share * d.lost
		}
		for i := range b.clock {
			b.typo[i] += d.any * b.step * b.clock[i]
		}
		for _, p := range d.pieces {
			b.piece(p, f, share*astray)
		}
	}
	for i, t := range b.typo {
		b.all[i] += t
	}
}

// clocked fills clock with the density of the moment by the row's time, in a frame: for
// each habit, the moments at which it may have been written, carried back by its law.
func (b *believed) clocked(candidates []candidate, frame int) {
	for i := range b.clock {
		b.clock[i] = 0
	}
	type key struct {
		habit int
		in    Span
	}
	bins := map[key]map[int]float64{}
	var keys []key
	for _, c := range candidates {
		if c.frame != frame || c.weight < rareMoment/100 {
			continue
		}
		k := key{c.habit, c.in}
		if bins[k] == nil {
			bins[k] = map[int]float64{}
			keys = append(keys, k)
		}
		x := (c.x - b.from) / b.step
		low := int(math.Floor(x))
		bins[k][low] += c.weight * (1 - (x - float64(low)))
		bins[k][low+1] += c.weight * (x - float64(low))
	}
	for _, k := range keys {
		kernel, first := b.kernel(k.habit)
		from := max(0, int(math.Ceil((k.in.From-b.from)/b.step-0.5)))
		to := min(len(b.clock), int(math.Ceil((k.in.To-b.from)/b.step-0.5)))
		for _, at := range slices.Sorted(maps.Keys(bins[k])) {
			w := bins[k][at]
			// Cell i is seen by delays that begin with kernel[0] at at − first.
			for j := max(0, at-first-to+1); j < len(kernel) && at-first-j >= from; j++ {
				b.clock[at-first-j] += w * kernel[j]
			}
		}
	}
}

// kernel is the density of delays by cell: entry j of those that put what was written
// at the start of cell n into cell n − first − j.
func (b *believed) kernel(habit int) (density []float64, first int) {
	l := b.q.law(habit, b.row.Half)
	early, late := l.reach()
	late = min(late, longInGrid+b.row.Half)
	first = int(math.Floor(early/b.step)) - 1
	for n := first; float64(n)*b.step < late; n++ {
		d := float64(n) * b.step
		density = append(density, (l.by(d)-l.by(d-b.step))/b.step)
	}
	return density, first
}

// piece adds a stretch at which the row's distance is shown.
func (b *believed) piece(p Piece, frame int, astray float64) {
	first, last := max(0, int((p.From-b.from)/b.step)), min(len(b.all)-1, int((p.To-b.from)/b.step))
	if first > last || p.To <= b.from {
		return
	}
	even := p.Mass / (p.To - p.From)
	for i := first; i <= last; i++ {
		v := b.from + float64(i)*b.step
		if overlap := min(p.To, v+b.step) - max(p.From, v); overlap > 0 {
			b.all[i] += even * overlap * (b.clock[i] + astray)
			b.astray += even * overlap * astray
		}
	}
	if !b.row.Placed {
		return
	}
	key := [2]int{frame, p.Place}
	if spot := b.spots[key]; spot != nil {
		spot.From, spot.To, spot.Stand = min(spot.From, p.From), max(spot.To, p.To), spot.Stand || p.Stand
	} else {
		b.spots[key] = &Spot{Span: p.Span, Place: p.Place, Stand: p.Stand}
	}
}

// finish makes the shares sum to 1.
func (b *believed) finish(timed bool) Place {
	p := Place{From: b.from, Step: b.step, Share: b.all, Timed: timed, Lost: 1, typo: b.typo}
	if seen := sum(b.all); seen > 0 {
		p.Lost, p.Astray = b.lost/(b.lost+seen), b.astray/seen
	}
	p.Spots = b.apart()
	p.times(func(float64) float64 { return 1 })
	return p
}

// apart are the spots, those that several frames put at one place taken together.
func (b *believed) apart() (few []Spot) {
	all := make([]Spot, 0, len(b.spots))
	for _, s := range b.spots {
		all = append(all, *s)
	}
	slices.SortFunc(all, func(a, b Spot) int { return cmp.Or(cmp.Compare(a.From, b.From), cmp.Compare(a.To, b.To)) })
	for _, s := range all {
		if n := len(few); n > 0 && s.From < few[n-1].To {
			few[n-1].To, few[n-1].Stand = max(few[n-1].To, s.To), few[n-1].Stand || s.Stand
			continue
		}
		few = append(few, s)
	}
	return few
}

// times multiplies the belief by a factor of the moment, and finds the likeliest
// explanation anew.
func (p *Place) times(factor func(v float64) float64) {
	var whole float64
	for i := range p.Share {
		f := factor(p.From + p.Step*(float64(i)+0.5))
		p.Share[i] *= f
		p.typo[i] *= f
		whole += p.Share[i]
	}
	if whole <= 0 {
		return
	}
	for i := range p.Share {
		p.Share[i] /= whole
		p.typo[i] /= whole
	}
	p.Typo = sum(p.typo)
	p.best = Span{p.From, p.From + p.Step*float64(len(p.Share))}
	most := p.Typo
	p.slip = most > 0
	for i := range p.Spots {
		s := &p.Spots[i]
		s.Share = p.mass(p.Share, s.Span) - p.mass(p.typo, s.Span)
		if s.Share > most {
			most, p.best, p.slip = s.Share, s.Span, false
		}
	}
	slices.SortFunc(p.Spots, func(a, b Spot) int {
		if c := cmp.Compare(b.Share, a.Share); c != 0 {
			return c
		}
		return cmp.Compare(a.From, b.From)
	})
}

// mass is what of shares lies in a stretch.
func (p *Place) mass(of []float64, in Span) (m float64) {
	first := max(0, int((in.From-p.From)/p.Step))
	for i := first; i < len(of) && p.From+p.Step*float64(i) < in.To; i++ {
		v := p.From + p.Step*float64(i)
		if overlap := min(v+p.Step, in.To) - max(v, in.From); overlap > 0 {
			m += of[i] * min(1, overlap/p.Step)
		}
	}
	return m
}

// At is where the row is best put: the middle of the belief in its likeliest
// explanation, from which the truth is least far on average.
func (p *Place) At() float64 {
	of := p.Share
	if p.slip {
		of = p.typo
	}
	half := p.mass(of, p.best) / 2
	first := max(0, int((p.best.From-p.From)/p.Step))
	for i := first; i < len(p.Share); i++ {
		v := max(p.From+p.Step*float64(i), p.best.From)
		until := min(p.From+p.Step*float64(i+1), p.best.To)
		s := of[i] * max(0, until-v) / p.Step
		if half -= s; half <= 0 && s > 0 {
			return until + half/s*(until-v)
		}
	}
	return p.best.From
}

// Within is the belief that the row was seen at most half seconds from at.
func (p *Place) Within(at, half float64) float64 { return p.mass(p.Share, Span{at - half, at + half}) }

// Half is the half-width round at that holds a share of the belief.
func (p *Place) Half(at, share float64) float64 {
	low, high := 0.0, p.Step*float64(len(p.Share))
	for range 30 {
		middle := (low + high) / 2
		if p.Within(at, middle) < share {
			low = middle
		} else {
			high = middle
		}
	}
	return high
}

// Between is the shortest stretch that holds a share of the belief, and at.
func (p *Place) Between(at, share float64) (from, to float64) {
	below := make([]float64, len(p.Share)+1)
	for i, s := range p.Share {
		below[i+1] = below[i] + s
	}
	center := min(max(0, int((at-p.From)/p.Step)), len(p.Share)-1)
	first, last := 0, len(p.Share)-1
	j := center
	for i := 0; i <= center; i++ {
		for j < len(p.Share)-1 && below[j+1]-below[i] < share {
			j++
		}
		if below[j+1]-below[i] < share {
			break
		}
		for j > center && below[j]-below[i] >= share {
			j--
		}
		if j-i < last-first {
			first, last = i, j
		}
	}
	return p.From + p.Step*float64(first), p.From + p.Step*float64(last+1)
}
