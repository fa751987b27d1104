package footage

import (
	"math"
	"math/rand/v2"
)

// A wall is the pipe's inside unrolled: a row each millimetre along the line, a
// column each part of the turn, beginning at the crown and going clockwise.
type wall struct {
	rows   int
	light  []uint8 // how much of the light comes back
	cb, cr []uint8 // colour, at half the rows and columns
	small  []level // light again, each level half the one before
}

type level struct {
	rows, turn int
	light      []uint8
}

const (
	turn   = 1024 // columns round the wall
	perM   = 1000 // rows a metre
	ahead  = 3    // metres of wall that go on after the line's end
	levels = 6
)

// A paint is a colour: light 0 to 1, and the two differences of YCbCr.
type paint struct{ light, cb, cr float32 }

var materials = map[string]paint{
	"clay":     {0.56, 117, 141},
	"pvc":      {0.80, 124, 131},
	"iron":     {0.36, 119, 139},
	"concrete": {0.58, 125, 129},
}

func newWall(s Scene, r *rand.Rand) *wall {
	rows := int((s.Pipe.Length + ahead) * perM)
	rows -= rows % (1 << levels)
	w := &wall{rows: rows, light: make([]uint8, rows*turn),
		cb: make([]uint8, rows/2*turn/2), cr: make([]uint8, rows/2*turn/2)}
	w.plaster(s, r)
	w.joints(s, r)
	for _, f := range s.Features {
		w.mark(f, s, r)
	}
	w.shrink()
	return w
}

// plaster lays the bare material: blotches, streaks along the flow, and dirt
// that lies deeper the nearer the invert.
func (w *wall) plaster(s Scene, r *rand.Rand) {
	base, ok := materials[s.Pipe.Material]
	if !ok {
		base = materials["clay"]
	}
	blotches, grain := newField(r, 8, 6), newField(r, 64, 4)
	var dirtAt [turn]float32
	tide := 0.62 // radians from the invert up to which the flow has left its mark
	for x := range turn {
		dirtAt[x] = float32(math.Abs(fromInvert(x)) / tide)
	}
	for y := range w.rows {
		for x := range turn {
			big := blotches.at(y, x)
			fine := grain.at(y, x)
			streak := blotches.at(y/12+311, x*2)
			light := base.light * (1 + 0.22*big + 0.16*fine + 0.07*streak)
			if pit := -fine - 0.8*big - 0.55; pit > 0 {
				light *= 1 - min(pit*1.6, 0.45)
			}
			if fine > 0.82 { // crystals that catch the lamp
				light *= 1.3
			}
			cb, cr := base.cb+3*big, base.cr-4*big
			edge := dirtAt[x] + 0.35*streak + 0.15*big
			if edge < 1.12 {
				deep := smooth(min(max((1.12-edge)/0.3, 0), 1))
				light *= 1 - 0.42*deep
				cb, cr = cb-5*deep, cr+3*deep
				if edge > 0.98 { // the tide mark
					light *= 1.10
				}
			}
			w.set(y, x, paint{light, cb, cr})
		}
	}
}

// joints cuts a dark gap with a lit lip behind it, never quite square to the line.
func (w *wall) joints(s Scene, r *rand.Rand) {
	if s.Pipe.Joints <= 0 {
		return
	}
	rough := newField(r, 32, 4)
	for at := s.Pipe.Joints * 0.7; at < s.Pipe.Length; at += s.Pipe.Joints {
		tilt, lean := 3*r.Float64(), 2*math.Pi*r.Float64()
		gap := 3.5 + 2.5*r.Float64()
		stain := r.Float32()
		for x := range turn {
			a := 2 * math.Pi * float64(x) / turn
			middle := at*perM + tilt*math.Cos(a-lean) + 2.2*float64(rough.at(int(at*perM), x/3))
			for y := int(middle) - 40; y < int(middle)+60; y++ {
				off := float64(y) - middle
				n := rough.at(y, x)
				inside := min(max(gap/2+0.5-math.Abs(off), 0), 1)
				switch {
				case inside > 0:
					w.dim(y, x, 1-0.84*float32(inside))
				case off > 0 && off < gap/2+5: // the next pipe's rim faces the light
					w.dim(y, x, 1.45-0.12*float32(off-gap/2))
				case off < 0 && off > -gap/2-3:
					w.dim(y, x, 0.75)
				default: // what has seeped out of it
					near := 1 - float32(math.Abs(off))/60
					w.tint(y, x, paint{1 - 0.30*near*stain*max(0, 0.5+n), 128 - 8*near*stain, 128 + 6*near*stain})
				}
			}
		}
	}
}

// fromInvert is the angle of a column from the invert, radians, -pi to pi.
func fromInvert(x int) float64 { return 2*math.Pi*float64(x)/turn - math.Pi }

func (w *wall) set(y, x int, p paint) {
	w.light[y*turn+x] = uint8(min(max(p.light*255, 0), 255))
	if y&1 == 0 && x&1 == 0 {
		i := y/2*turn/2 + x/2
		w.cb[i], w.cr[i] = uint8(p.cb), uint8(p.cr)
	}
}

// dim multiplies the light that comes back from a spot.
func (w *wall) dim(y, x int, by float32) { w.tint(y, x, paint{by, 128, 128}) }

// tint multiplies the light and shifts the colour by what differs from grey.
func (w *wall) tint(y, x int, p paint) {
	if y < 0 || y >= w.rows {
		return
	}
	x &= turn - 1
	v := &w.light[y*turn+x]
	*v = uint8(min(float32(*v)*p.light, 255))
	if y&1 == 0 && x&1 == 0 {
		i := y/2*turn/2 + x/2
		w.cb[i] = uint8(min(max(float32(w.cb[i])+p.cb-128, 16), 240))
		w.cr[i] = uint8(min(max(float32(w.cr[i])+p.cr-128, 16), 240))
	}
}

// cover lays paint over a spot, thickness 0 to 1.
func (w *wall) cover(y, x int, p paint, thick float32) {
	if y < 0 || y >= w.rows || thick <= 0 {
		return
	}
	x &= turn - 1
	thick = min(thick, 1)
	v := &w.light[y*turn+x]
	*v = uint8(min(max(float32(*v)*(1-thick)+255*p.light*thick, 0), 255))
	if y&1 == 0 && x&1 == 0 {
		i := y/2*turn/2 + x/2
		w.cb[i] = uint8(float32(w.cb[i])*(1-thick) + p.cb*thick)
		w.cr[i] = uint8(float32(w.cr[i])*(1-thick) + p.cr*thick)
	}
}

// shrink makes the smaller levels that distant wall is read from, so that it
// doesn't glitter.
func (w *wall) shrink() {
	from := level{w.rows, turn, w.light}
	w.small = []level{from}
	for range levels - 1 {
		to := level{from.rows / 2, from.turn / 2, make([]uint8, from.rows/2*from.turn/2)}
		for y := range to.rows {
			a, b := from.light[2*y*from.turn:], from.light[(2*y+1)*from.turn:]
			for x := range to.turn {
				to.light[y*to.turn+x] = uint8((int(a[2*x]) + int(a[2*x+1]) + int(b[2*x]) + int(b[2*x+1]) + 2) / 4)
			}
		}
		w.small = append(w.small, to)
		from = to
	}
}
