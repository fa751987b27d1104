package footage

import (
	"math"
	"math/rand/v2"
)

// A field is a square of smooth noise, -1 to 1, that repeats in both directions.
type field struct{ values []int8 }

const fieldSize = 1024 // a power of two

func newField(r *rand.Rand, coarsest, octaves int) *field {
	sum := make([]float32, fieldSize*fieldSize)
	weight := float32(1)
	for o := range octaves {
		cells := coarsest << o
		lattice := make([]float32, cells*cells)
		for i := range lattice {
			lattice[i] = r.Float32()*2 - 1
		}
		step := fieldSize / cells
		for y := range fieldSize {
			y0, fy := y/step, smooth(float32(y%step)/float32(step))
			top := lattice[y0*cells : (y0+1)*cells]
			low := lattice[(y0+1)%cells*cells:]
			for x := range fieldSize {
				x0, fx := x/step, smooth(float32(x%step)/float32(step))
				x1 := (x0 + 1) % cells
				a := top[x0] + (top[x1]-top[x0])*fx
				b := low[x0] + (low[x1]-low[x0])*fx
				sum[y*fieldSize+x] += weight * (a + (b-a)*fy)
			}
		}
		weight *= 0.55
	}
	f := &field{make([]int8, len(sum))}
	for i, v := range sum {
		f.values[i] = int8(min(max(v*80, -127), 127))
	}
	return f
}

func smooth(t float32) float32 { return t * t * (3 - 2*t) }

// at reads the field, -1 to 1.
func (f *field) at(y, x int) float32 {
	return float32(f.values[(y&(fieldSize-1))*fieldSize+x&(fieldSize-1)]) / 127
}

// between reads the field smoothly between its points.
func (f *field) between(y, x float32) float32 {
	y0, x0 := int(math.Floor(float64(y))), int(math.Floor(float64(x)))
	fy, fx := y-float32(y0), x-float32(x0)
	a, b := f.at(y0, x0), f.at(y0, x0+1)
	c, d := f.at(y0+1, x0), f.at(y0+1, x0+1)
	top, low := a+(b-a)*fx, c+(d-c)*fx
	return top + (low-top)*fy
}

// A wander is a smooth curve through random heights, -1 to 1, one a unit.
type wander struct{ heights [256]float64 }

func newWander(r *rand.Rand) *wander {
	var w wander
	for i := range w.heights {
		w.heights[i] = r.Float64()*2 - 1
	}
	return &w
}

func (w *wander) at(x float64) float64 {
	i := math.Floor(x)
	t := x - i
	t = t * t * (3 - 2*t)
	a, b := w.heights[int(i)&255], w.heights[(int(i)+1)&255]
	return a + (b-a)*t
}

// ramp goes from 0 at a to 1 at b, smoothly.
func ramp(a, b, x float64) float64 {
	t := min(max((x-a)/(b-a), 0), 1)
	return t * t * (3 - 2*t)
}
