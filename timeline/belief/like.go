package belief

import "sort"

// delays longer than these are left out of grids: what they would add is in the share
// of times that are wrong.
const (
	longInSearch = 90.0
	longInGrid   = 200.0
)

// fill sets the likelihood of a row by cell.
func (c *chain) fill(to []float64, r *Row, d *density, l *law, parts []Span, long float64) {
	floor := d.nowhere()
	for i := range to {
		to[i] = floor
	}
	early, late := l.reach()
	late = min(late, long+r.Half)
	for p, part := range parts {
		first, last := c.bounds[p], c.bounds[p+1]
		if first == last {
			continue
		}
		cells := c.cells[first:last]
		// reached are the cells at which a row seen between two moments may be written now.
		reached := func(s Span) (int, int) {
			low, high := r.Written-s.To-late, r.Written-s.From-early
			return sort.Search(len(cells), func(i int) bool { return cells[i].ahead >= low }),
				sort.Search(len(cells), func(i int) bool { return cells[i].ahead > high })
		}
		if d.any > 0 {
			from, until := reached(part)
			for i := from; i < until; i++ {
				x := r.Written - cells[i].ahead
				share := 1.0
				if x-part.From < late || x-part.To > early {
					share = l.by(x-part.From) - l.by(x-part.To)
				}
				to[first+i] += d.any * share
			}
		}
		for _, piece := range d.pieces {
			s := Span{max(piece.From, part.From), min(piece.To, part.To)}
			if s.To <= s.From {
				continue
			}
			from, until := reached(s)
			even := piece.Mass / (piece.To - piece.From)
			for i := from; i < until; i++ {
				x := r.Written - cells[i].ahead
				to[first+i] += even * (l.by(x-s.From) - l.by(x-s.To))
			}
		}
	}
}

// fillAnchor sets the likelihood of an anchor by cell: its clock may be off by both
// resolutions, evenly, and it may be wrong. One that is a row may tell when it was seen.
func (c *chain) fillAnchor(to []float64, a Anchor, q *Question, habit int, wrong float64) {
	l := q.law(habit, max(a.LogHalf+a.VideoHalf, c.step/2))
	half := max(a.LogHalf+a.VideoHalf, c.step/2)
	blur := c.step / 2
	for i, cell := range c.cells {
		to[i] = wrong / q.window
		if part := q.Parts[cell.part]; a.Video < part.From-a.VideoHalf || a.Video > part.To+a.VideoHalf {
			continue
		}
		off := a.Log - a.Video - cell.ahead
		// The share of the cell that lies within the anchor's resolution.
		inside := max(0, min(half, off+blur)-max(-half, off-blur)) / (2 * blur) / (2 * half)
		if q.Found {
			inside = (inside + (l.by(off+blur)-l.by(off-blur))/(2*blur)) / 2
		}
		to[i] += (1 - wrong) * inside
	}
}
