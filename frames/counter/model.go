package counter

import (
	"image"
	"math"
)

// A model is what one digit looks like in its cell: ink, cut at a level at which
// letters stand out, so that the pipe behind has as little say as can be. How well
// a cell suits it is their correlation: brightness and contrast are free, outlines,
// boxes and colours need no case of their own.
type model struct {
	n     int
	known bool
	ink   []float32 // by pixel of the cell: as it is on average
	mean  []float32 // the same weighed by near, its mean 0 and its length 1
	near  []float32 // by pixel: how much it says, 1 on the digit and round it, less elsewhere
	wide  int       // of the cell
	sum   []float64
	usual float64 // correlation as usual for this digit
	least float64 // from which it is believed to be this digit
}

// A cellAt is where a cell lies in a strip.
type cellAt struct{ left, right, top, bottom int }

func (c cellAt) moved(dx int) cellAt { return cellAt{c.left + dx, c.right + dx, c.top, c.bottom} }

func (c cellAt) inside(b image.Rectangle) bool {
	return c.left >= b.Min.X && c.right <= b.Max.X && c.top >= b.Min.Y && c.bottom <= b.Max.Y
}

func (c cellAt) pixels() int { return (c.right - c.left) * (c.bottom - c.top) }

// soft is how far from the cut's level a pixel counts wholly as ink or as none.
const soft = 24

// ink cuts a cell and normalises it; false where all is ink or none is.
func (c cellAt) ink(img *image.Gray, at cut, into []float32) bool {
	return normalise(c.cut(img, at, into))
}

// cut tells by how much each pixel of a cell is ink, from -soft to soft, and the sum.
func (c cellAt) cut(img *image.Gray, at cut, into []float32) (ink []float32, sum float32) {
	i := 0
	for y := c.top; y < c.bottom; y++ {
		for _, v := range img.Pix[y*img.Stride+c.left : y*img.Stride+c.right] {
			d := float32(v) - float32(at.level)
			d = min(max(d, -soft), soft)
			if at.dark {
				d = -d
			}
			into[i] = d
			sum += d
			i++
		}
	}
	return into[:i], sum
}

// inked tells whether some of a cell is ink and some is not.
func inked(v []float32, sum float32) bool {
	mean := sum / float32(len(v))
	long := float32(0)
	for _, d := range v {
		long += d * d
	}
	return long-sum*mean >= float32(len(v))*soft*soft/50
}

// normalise takes the mean away and makes the length 1; false where all is ink or none is.
func normalise(v []float32, sum float32) bool {
	if !inked(v, sum) {
		return false
	}
	mean := sum / float32(len(v))
	long := float32(0)
	for i := range v {
		v[i] -= mean
		long += v[i] * v[i]
	}
	scale := float32(1 / math.Sqrt(float64(long)))
	for i := range v {
		v[i] *= scale
	}
	return true
}

// farOff is how much a pixel says that is not near the digit.
const farOff = 0.3

func newModel(wide, tall int) *model {
	pixels := wide * tall
	m := &model{usual: 0.9, least: 0.7, ink: make([]float32, pixels), mean: make([]float32, pixels), near: make([]float32, pixels), sum: make([]float64, pixels), wide: wide}
	for i := range m.near {
		m.near[i] = 1
	}
	return m
}

// nearness finds which pixels lie on the digit or as near to it as an outline does.
func (m *model) nearness() {
	tall := len(m.ink) / m.wide
	reach := max(2, (tall-4)/9)
	most := float32(0)
	for _, v := range m.ink {
		most = max(most, v)
	}
	for i := range m.near {
		m.near[i] = farOff
	}
	for i, v := range m.ink {
		if v < most/2 {
			continue
		}
		x, y := i%m.wide, i/m.wide
		for py := max(0, y-reach); py <= min(tall-1, y+reach); py++ {
			for px := max(0, x-reach); px <= min(m.wide-1, x+reach); px++ {
				m.near[py*m.wide+px] = 1
			}
		}
	}
}

func (m *model) forget() {
	m.n = 0
	clear(m.sum)
}

// see takes one sight of the digit into account.
func (m *model) see(ink []float32) {
	m.n++
	for i, v := range ink {
		m.sum[i] += float64(v)
	}
}

func (m *model) settle() {
	if m.n == 0 {
		return
	}
	for i, v := range m.sum {
		m.ink[i] = float32(v / float64(m.n))
	}
	m.nearness()
	sum, weight := float32(0), float32(0)
	for i, w := range m.near {
		sum += w * m.ink[i]
		weight += w
	}
	mean, long := sum/weight, float32(0)
	for i, w := range m.near {
		d := m.ink[i] - mean
		m.mean[i] = w * d
		long += w * d * d
	}
	scale := float32(1 / math.Sqrt(float64(max(long, 1e-6))))
	for i := range m.mean {
		m.mean[i] *= scale
	}
	m.known = m.n >= leastGroup
}

// match is the correlation of a cell's ink with the digit. What is far from the digit
// is pipe, bright or dark as may be, and counts for less.
func (m *model) match(ink []float32) float32 {
	sum, weight, first, second := float32(0), float32(0), float32(0), float32(0)
	mean, near := m.mean[:len(ink)], m.near[:len(ink)]
	for i, v := range ink {
		w := near[i]
		sum += v * mean[i]
		weight += w
		first += w * v
		second += w * v * v
	}
	length := second - first*first/weight
	if sum <= 0 || length < 1e-6 {
		return 0
	}
	return sum / float32(math.Sqrt(float64(length)))
}

// apart takes what is not near the digit from the cell without its wall.
func (m *model) apart(ink, walled, into []float32) []float32 {
	near := m.near[:len(ink)]
	into = into[:len(ink)]
	for i, v := range walled[:len(ink)] {
		if near[i] == 1 {
			v = ink[i]
		}
		into[i] = v
	}
	return into
}

// Of a cell's pixels, one in so many says something that its neighbours don't.
const neighboursAlike = 8

// nats turns a correlation into how much better the digit explains the cell than
// nothing does: what is left over of the cell's variance is its noise.
func nats(correlation float64, pixels int) float64 {
	c := min(max(correlation, 0), 0.995)
	return float64(pixels) / neighboursAlike / 2 * (-math.Log(1-c*c) - 0.25)
}
