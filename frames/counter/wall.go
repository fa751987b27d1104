package counter

import "image"

// A wall is what is as bright as the letters, or as dark, and goes on above or below the
// line: pipe, and no part of a letter. An outline or a box sets letters apart from it.
// Where there is one, it shows through the letters' holes as well.
type wall struct {
	there  bool        // on the strip looked at last
	filled *image.Gray // the strip, the letters' holes painted over in what counts as no ink
	paper  *image.Gray // the same, and its wall painted over, too
	until  []int       // by column: how many pixels left of it are painted over

	cut    cut
	bounds image.Rectangle // between the lines looked at
	spot   []int16         // by pixel: which spot of ink it is part of; 0 for none
	boxes  []image.Rectangle
	stack  []int
}

// hide looks for a wall at a cut's level within some lines and columns: what is joined to
// ink on the first or the last of the lines.
func (w *wall) hide(img *image.Gray, c cut, within image.Rectangle) {
	w.cut, w.bounds = c, within.Intersect(img.Rect)
	if w.there = !w.bounds.Empty() && w.onEdge(img); !w.there {
		return
	}
	if w.paper == nil || w.paper.Rect != img.Rect {
		w.filled, w.paper = image.NewGray(img.Rect), image.NewGray(img.Rect)
		w.spot, w.until = make([]int16, len(w.paper.Pix)), make([]int, img.Rect.Dx()+1)
	}
	copy(w.filled.Pix, img.Pix)
	copy(w.paper.Pix, img.Pix)
	w.spots()
	blank := uint8(max(int(c.level)-soft, 0))
	if c.dark {
		blank = uint8(min(int(c.level)+soft, 255))
	}
	part, painted := w.parts(), 0
	for x := range img.Rect.Dx() {
		w.until[x] = painted
		if x < w.bounds.Min.X || x >= w.bounds.Max.X {
			continue
		}
		for y := w.bounds.Min.Y; y < w.bounds.Max.Y; y++ {
			i := y*w.paper.Stride + x
			switch part[w.spot[i]] {
			case hole:
				w.filled.Pix[i], w.paper.Pix[i] = blank, blank
				painted++
			case pipe:
				w.paper.Pix[i] = blank
				painted++
			}
		}
	}
	w.until[img.Rect.Dx()] = painted
}

// shows tells whether any of the wall is seen in a cell.
func (w *wall) shows(c cellAt) bool { return w.there && w.until[c.left] < w.until[c.right] }

func (w *wall) ink(v uint8) bool { return (v >= w.cut.level) != w.cut.dark }

func (w *wall) onEdge(img *image.Gray) bool {
	for _, y := range [2]int{w.bounds.Min.Y, w.bounds.Max.Y - 1} {
		for _, v := range img.Pix[y*img.Stride+w.bounds.Min.X : y*img.Stride+w.bounds.Max.X] {
			if w.ink(v) {
				return true
			}
		}
	}
	return false
}

// mostSpots are looked at on a strip: more is noise, and the rest stays as it is.
const mostSpots = 2000

// spots finds the spots of ink and their boxes, from the first on.
func (w *wall) spots() {
	clear(w.spot)
	w.boxes = append(w.boxes[:0], image.Rectangle{})
	stride := w.paper.Stride
	for y := w.bounds.Min.Y; y < w.bounds.Max.Y; y++ {
		for x := w.bounds.Min.X; x < w.bounds.Max.X; x++ {
			if i := y*stride + x; w.spot[i] != 0 || !w.ink(w.paper.Pix[i]) || len(w.boxes) > mostSpots {
				continue
			}
			n := int16(len(w.boxes))
			w.boxes = append(w.boxes, image.Rectangle{})
			w.spread(x, y, n)
			for len(w.stack) > 0 {
				i := w.stack[len(w.stack)-1]
				w.stack = w.stack[:len(w.stack)-1]
				px, py := i%stride, i/stride
				w.boxes[n] = w.boxes[n].Union(image.Rect(px, py, px+1, py+1))
				w.spread(px-1, py, n)
				w.spread(px+1, py, n)
				w.spread(px, py-1, n)
				w.spread(px, py+1, n)
			}
		}
	}
}

func (w *wall) spread(x, y int, n int16) {
	if !(image.Point{X: x, Y: y}).In(w.bounds) {
		return
	}
	if i := y*w.paper.Stride + x; w.spot[i] == 0 && w.ink(w.paper.Pix[i]) {
		w.spot[i] = n
		w.stack = append(w.stack, i)
	}
}

const (
	letter = iota
	hole   // what lies within a letter, apart from it
	pipe
)

// parts tells what each spot is.
func (w *wall) parts() []int {
	part := make([]int, len(w.boxes))
	var round []image.Rectangle // the insides of what may have a hole: noise has none
	for i, b := range w.boxes {
		switch {
		case i > 0 && (b.Min.Y == w.bounds.Min.Y || b.Max.Y == w.bounds.Max.Y):
			part[i] = pipe
		case b.Dx() > 2 && b.Dy() > 2:
			round = append(round, b.Inset(1))
		}
	}
	for i, b := range w.boxes {
		if i == 0 || part[i] == pipe {
			continue
		}
		for _, r := range round {
			if b.In(r) && 2*b.Dy() > (r.Dy()+2)/2 {
				part[i] = hole
			}
		}
	}
	return part
}
