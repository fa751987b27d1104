package counter

import (
	"cmp"
	"image"
	"math"
	"slices"
)

// A part is one connected piece of a strip that is brighter (or darker) than a
// threshold, or several above each other.
type part struct {
	box    image.Rectangle
	area   int
	pieces int
}

// A cut tells how a strip is turned into black and white.
type cut struct {
	dark  bool // letters darker than what is around
	level uint8
}

// cuts are tried one after the other.
func cuts(dark bool) []cut {
	var all []cut
	for level := 40; level <= 220; level += 20 {
		all = append(all, cut{dark, uint8(level)})
	}
	return all
}

// parts cuts a strip and takes the connected pieces apart. Pieces that overlap
// for the most part when seen from above are one sign: the bars of a segment
// display, the dots of a colon.
func parts(img *image.Gray, c cut, scratch *partsScratch) []part {
	w, h := img.Rect.Dx(), img.Rect.Dy()
	scratch.grow(w * h)
	label := scratch.label[:w*h]
	for i := range label {
		label[i] = 0
	}
	on := func(x, y int) bool { return (img.Pix[y*img.Stride+x] >= c.level) != c.dark }
	var pieces []part
	for y := range h {
		for x := range w {
			if label[y*w+x] != 0 || !on(x, y) {
				continue
			}
			stack := append(scratch.stack[:0], int32(y*w+x))
			label[y*w+x] = 1
			p := part{box: image.Rect(x, y, x+1, y+1), pieces: 1}
			for len(stack) > 0 {
				i := int(stack[len(stack)-1])
				stack = stack[:len(stack)-1]
				px, py := i%w, i/w
				p.area++
				p.box.Min.X, p.box.Max.X = min(p.box.Min.X, px), max(p.box.Max.X, px+1)
				p.box.Min.Y, p.box.Max.Y = min(p.box.Min.Y, py), max(p.box.Max.Y, py+1)
				for dy := -1; dy <= 1; dy++ {
					for dx := -1; dx <= 1; dx++ {
						qx, qy := px+dx, py+dy
						if qx < 0 || qy < 0 || qx >= w || qy >= h || label[qy*w+qx] != 0 || !on(qx, qy) {
							continue
						}
						label[qy*w+qx] = 1
						stack = append(stack, int32(qy*w+qx))
					}
				}
			}
			scratch.stack = stack
			if p.area >= 3 && p.box.Dx() < w*9/10 {
				pieces = append(pieces, p)
			}
		}
	}
	return stacked(pieces)
}

type partsScratch struct {
	label []uint8
	stack []int32
}

func (s *partsScratch) grow(n int) {
	if len(s.label) < n {
		s.label = make([]uint8, n)
	}
}

func stacked(pieces []part) []part {
	slices.SortFunc(pieces, func(a, b part) int { return cmp.Compare(a.box.Min.X, b.box.Min.X) })
	var all []part
	for _, p := range pieces {
		if n := len(all) - 1; n >= 0 {
			q := &all[n]
			if above(q.box, p.box) {
				q.box = q.box.Union(p.box)
				q.area += p.area
				q.pieces += p.pieces
				continue
			}
		}
		all = append(all, p)
	}
	return all
}

// above tells whether one box stands above the other. A bright wall round a letter,
// or beside it, doesn't.
func above(a, b image.Rectangle) bool {
	shared := min(a.Max.X, b.Max.X) - max(a.Min.X, b.Min.X)
	beside := min(a.Max.Y, b.Max.Y) - max(a.Min.Y, b.Min.Y)
	return 2*shared > min(a.Dx(), b.Dx()) && 2*beside <= min(a.Dy(), b.Dy())
}

// framed is a part's box, with some of what is beside it where the part is a mere bar,
// which has no shape by itself.
func framed(box image.Rectangle) image.Rectangle {
	if w := box.Dx(); 4*w < box.Dy() {
		beside := max(1, w/4)
		box.Min.X, box.Max.X = box.Min.X-beside, box.Max.X+beside
	}
	return box
}

// The normal size that signs are compared in.
const normalW, normalH = 12, 18

// A shape is a sign in normal size, its mean taken away and its length 1.
type shape struct {
	values [normalW * normalH]float32
	aspect float64 // width by height of the ink
}

// inkShape is shapeOf for letters cut at a level: what is clearly beyond it counts
// as ink, what is clearly not as none, so that the background has no say.
func inkShape(img *image.Gray, box image.Rectangle, c cut) shape {
	s := shape{aspect: float64(box.Dx()) / float64(box.Dy())}
	s.scale(img, box, func(v float64) float64 {
		v -= float64(c.level)
		if c.dark {
			v = -v
		}
		return min(max(v, -soft), soft)
	})
	s.normalise()
	return s
}

// shapeOf scales the box of a picture to normal size.
func shapeOf(img *image.Gray, box image.Rectangle, dark bool) shape {
	s := shape{aspect: float64(box.Dx()) / float64(box.Dy())}
	s.scale(img, box, func(v float64) float64 {
		if dark {
			return 255 - v
		}
		return v
	})
	s.normalise()
	return s
}

func (s *shape) scale(img *image.Gray, box image.Rectangle, tone func(float64) float64) {
	b := img.Rect
	at := func(x, y int) float64 {
		x, y = min(max(x, b.Min.X), b.Max.X-1), min(max(y, b.Min.Y), b.Max.Y-1)
		return float64(img.Pix[img.PixOffset(x, y)])
	}
	for y := range normalH {
		fy := float64(box.Min.Y) + (float64(y)+0.5)*float64(box.Dy())/normalH - 0.5
		y0 := int(math.Floor(fy))
		ty := fy - float64(y0)
		for x := range normalW {
			fx := float64(box.Min.X) + (float64(x)+0.5)*float64(box.Dx())/normalW - 0.5
			x0 := int(math.Floor(fx))
			tx := fx - float64(x0)
			v := (at(x0, y0)*(1-tx)+at(x0+1, y0)*tx)*(1-ty) + (at(x0, y0+1)*(1-tx)+at(x0+1, y0+1)*tx)*ty
			s.values[y*normalW+x] = float32(tone(v))
		}
	}
}

func (s *shape) normalise() {
	mean := float32(0)
	for _, v := range s.values {
		mean += v
	}
	mean /= float32(len(s.values))
	long := 0.0
	for i := range s.values {
		s.values[i] -= mean
		long += float64(s.values[i]) * float64(s.values[i])
	}
	scale := float32(1 / math.Max(math.Sqrt(long), 1e-6))
	for i := range s.values {
		s.values[i] *= scale
	}
}

// likeness is the correlation of two shapes, less what their proportions differ.
func (s *shape) likeness(t *shape) float64 {
	sum := float32(0)
	for i := range s.values {
		sum += s.values[i] * t.values[i]
	}
	return float64(sum) - 0.35*math.Abs(math.Log(s.aspect/t.aspect))
}
