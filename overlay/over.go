package overlay

import (
	"image"
	"math"
	"slices"
)

// over puts the captions onto the picture, inside EBU R 95's safe area on all
// sides and clear of what the recorder burned in. The foot is tried last for the
// place and first for notes: players put their own subtitles there, but where
// notes are burned in there are none.
func (l *Layout) over() {
	n := l.need()
	safe := l.safeArea()
	clear := l.clearAreas()

	least := math.MaxInt
	for _, n.line = range n.lines {
		for _, w := range ways {
			wide := math.Min(l.size.natural(w, n), l.textRoom(safe))
			set, ok := l.size.set(w, n, wide)
			if !ok || set.rows == 0 {
				continue
			}
			b := l.box(set.rows, wide)
			at, hidden := l.find(b, safe, clear, false)
			if set.cut {
				hidden++ // of two as good, the one that says all
			}
			if hidden < least {
				least, l.set, l.Place = hidden, set, b.at(at)
			}
		}
	}
	if rows := l.noteRows(l.textRoom(safe)); rows > 0 {
		b := l.box(rows, l.textRoom(safe))
		at, _ := l.find(b, safe, append(clear, l.Place.Ground), true)
		l.Notes = b.at(at)
	}
}

func (l *Layout) safeArea() image.Rectangle {
	x := int(math.Ceil(float64(l.Width) * safeShare))
	y := int(math.Ceil(float64(l.Height) * safeShare))
	return image.Rect(x, y, l.Width-x, l.Height-y)
}

// clearAreas are the areas to leave free, as they lie in the scaled picture.
func (l *Layout) clearAreas() []image.Rectangle {
	var rs []image.Rectangle
	kx := float64(l.Picture.Dx()) / float64(max(l.spec.Width, 1))
	ky := float64(l.Picture.Dy()) / float64(max(l.spec.Height, 1))
	for _, r := range l.spec.Clear {
		rs = append(rs, image.Rect(
			int(math.Floor(float64(r.Min.X)*kx)), int(math.Floor(float64(r.Min.Y)*ky)),
			int(math.Ceil(float64(r.Max.X)*kx)), int(math.Ceil(float64(r.Max.Y)*ky))))
	}
	return rs
}

// textRoom is how wide text may be in a box within the safe area.
func (l *Layout) textRoom(safe image.Rectangle) float64 {
	return float64(safe.Dx() - 2*int(math.Ceil(l.size.margin())))
}

// box is a block just as large as its text needs, at the top left.
func (l *Layout) box(rows int, wide float64) Block {
	m := int(math.Ceil(l.size.margin()))
	text := image.Rect(m, 0, m+int(math.Ceil(wide)), int(math.Ceil(float64(rows)*l.size.line()+2*l.size.margin())))
	return Block{Ground: image.Rect(0, 0, text.Max.X+m, text.Max.Y), Text: text, Rows: rows}
}

func (b Block) at(p image.Point) Block {
	b.Ground, b.Text = b.Ground.Add(p), b.Text.Add(p)
	return b
}

// find is where in safe the block hides least of the areas to leave free, and
// how many pixels of them that is. Of places as good, the first from the top is
// taken, or from the foot.
func (l *Layout) find(b Block, safe image.Rectangle, clear []image.Rectangle, foot bool) (at image.Point, hidden int) {
	xs := []int{safe.Min.X, safe.Max.X - b.Ground.Dx()}
	ys := []int{safe.Min.Y, safe.Max.Y - b.Ground.Dy()}
	for _, c := range clear { // right beside each
		xs = append(xs, c.Max.X, c.Min.X-b.Ground.Dx())
		ys = append(ys, c.Max.Y, c.Min.Y-b.Ground.Dy())
	}
	slices.Sort(ys)
	if foot {
		slices.Reverse(ys)
	}
	at, hidden = safe.Min, math.MaxInt
	for _, y := range ys {
		for _, x := range xs {
			g := b.Ground.Add(image.Pt(x, y))
			if !g.In(safe) {
				continue
			}
			covers := 0
			for _, c := range clear {
				o := g.Intersect(c)
				covers += o.Dx() * o.Dy()
			}
			if covers < hidden {
				at, hidden = image.Pt(x, y), covers
			}
		}
	}
	return at, hidden
}
