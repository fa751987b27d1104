package counter

import (
	"image"
	"math"
)

// A model is what one digit looks like in its cell: for each pixel the mean and
// the spread over all times that it was seen there. Letters and their outlines are
// always alike; the pipe between them isn't. So the fitness of a digit is the
// likelihood of its pixels under independent normal distributions, against that
// of the strip's background: outlines, boxes and colours need no case of their own.
type model struct {
	n           int
	mean, width []float32 // by pixel of the cell; width is the spread
	weight      []float32 // 1/(2·width²)
	offset      []float32 // log(background's width/width)
	usual       float64   // badness of fit as usual for this digit
	unusual     float64   // its spread
	known       bool

	sum, squares []float64
}

// leastWidth is the spread that no pixel goes below: compression alone makes as much.
const leastWidth = 9

// sceptic is how much one pixel may speak for or against: neighbours aren't
// independent, and dropouts happen.
const sceptic = 4

type ground struct{ mean, width float32 }

func newModel(pixels int) *model {
	return &model{
		mean: make([]float32, pixels), width: make([]float32, pixels), weight: make([]float32, pixels), offset: make([]float32, pixels),
		sum: make([]float64, pixels), squares: make([]float64, pixels),
	}
}

func (m *model) forget() {
	m.n = 0
	clear(m.sum)
	clear(m.squares)
}

// see takes one sight of the digit into account.
func (m *model) see(img *image.Gray, c cellAt) {
	m.n++
	i := 0
	for y := c.top; y < c.bottom; y++ {
		line := img.Pix[y*img.Stride:]
		for x := c.left; x < c.right; x++ {
			v := float64(line[x])
			m.sum[i] += v
			m.squares[i] += v * v
			i++
		}
	}
}

// settle makes means and spreads of what was seen. A few sights are held to be
// less sure than they look: the spread is that of n sights and two of the
// background's width.
func (m *model) settle(g ground) {
	m.known = m.n >= leastGroup
	if m.n == 0 {
		return
	}
	n := float64(m.n)
	for i := range m.mean {
		mean := m.sum[i] / n
		variance := max(m.squares[i]/n-mean*mean, 0)
		const prior = 1.0
		variance = (n*variance + prior*30*30) / (n + prior)
		width := max(math.Sqrt(variance), leastWidth)
		m.mean[i], m.width[i] = float32(mean), float32(width)
		m.weight[i] = float32(1 / (2 * width * width))
		m.offset[i] = float32(math.Log(float64(g.width) / width))
	}
}

// fit is how much better a cell's pixels suit the digit than the background, in
// nats, and how far they are from the digit's usual look (1: as usual).
func (m *model) fit(img *image.Gray, c cellAt, g ground) (better, bad float64) {
	i := 0
	gw := 1 / (2 * g.width * g.width)
	var sum, off float32
	for y := c.top; y < c.bottom; y++ {
		line := img.Pix[y*img.Stride+c.left : y*img.Stride+c.right]
		for _, v := range line {
			d, b := float32(v)-m.mean[i], float32(v)-g.mean
			e := d * d * m.weight[i]
			l := m.offset[i] - e + min(b*b*gw, 3)
			sum += min(max(l, -sceptic), sceptic)
			off += min(2*e, 9)
			i++
		}
	}
	return float64(sum), float64(off) / float64(max(i, 1))
}

// A cellAt is where a cell lies in a strip.
type cellAt struct{ left, right, top, bottom int }

func (c cellAt) moved(dx, dy int) cellAt {
	return cellAt{c.left + dx, c.right + dx, c.top + dy, c.bottom + dy}
}

func (c cellAt) inside(b image.Rectangle) bool {
	return c.left >= b.Min.X && c.right <= b.Max.X && c.top >= b.Min.Y && c.bottom <= b.Max.Y
}
