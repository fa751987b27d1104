package footage

import (
	"math"
	"math/rand/v2"
	"sort"
)

// A layer is what stands across the pipe at one place: a round picture that the
// camera comes up to and goes through.
type layer struct {
	at     float64 // metres
	cover  []uint8 // how much of what is behind it is hidden
	light  []uint8
	cb, cr uint8
	veil   float64 // light that it takes from everything behind it
}

const across = 320 // pixels of a layer from wall to wall

func newLayers(s Scene, r *rand.Rand) []layer {
	var all []layer
	for _, f := range s.Features {
		switch f.Kind {
		case "roots":
			all = append(all, roots(f, r)...)
		case "offset-joint":
			all = append(all, crescent(f, s))
		case "settled-debris":
			all = append(all, stones(f, r)...)
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].at > all[j].at })
	return all
}

func newLayer(at float64, cb, cr uint8) layer {
	return layer{at: at, cover: make([]uint8, across*across), light: make([]uint8, across*across), cb: cb, cr: cr}
}

// roots hang in from one place of the wall: few and thick at the front, more and
// thinner in the depth. A stretch of them comes in tufts.
func roots(f Feature, r *rand.Rand) []layer {
	var all []layer
	end := math.Max(f.To, f.From+0.1)
	step := 0.011
	for at := f.From; at <= end; at += step {
		into := (at - f.From) / 0.1
		tuft := f
		if f.To > f.From+0.2 && into > 1 { // further tufts along a stretch
			if r.IntN(14) > 1 {
				continue
			}
			tuft.Clock += 3 * (r.Float64() - 0.5)
			tuft.Size *= 0.4 + 0.6*r.Float64()
		}
		l := newLayer(at, uint8(114+r.IntN(5)), uint8(135+r.IntN(6)))
		for range int(8 + 34*tuft.Size) {
			l.root(tuft, r)
		}
		l.veil = 0.03 + 0.07*tuft.Size
		all = append(all, l)
	}
	return all
}

// root draws one root from the wall inwards, with hairs.
func (l *layer) root(f Feature, r *rand.Rand) {
	a := 2*math.Pi*f.Clock/12 + 0.75*r.NormFloat64()*(0.35+0.65*f.Size)
	x, y := math.Sin(a), math.Cos(a)
	dir := a + math.Pi + 0.5*r.NormFloat64()
	long := (0.3 + 0.9*r.Float64()) * (0.35 + 0.95*f.Size)
	thick := 0.7 + 3.2*r.Float64()*r.Float64()*(0.4+f.Size)
	light := 0.45 + 0.45*r.Float64()
	l.thread(x, y, dir, long, thick, light, r)
}

func (l *layer) thread(x, y, dir, long, thick, light float64, r *rand.Rand) {
	const step = 0.012
	for gone := 0.0; gone < long; gone += step {
		dir += 0.16 * r.NormFloat64()
		// Roots droop.
		dir += 0.04 * math.Sin(math.Pi-dir)
		x, y = x+step*math.Sin(dir), y+step*math.Cos(dir)
		l.dot(x, y, thick*(1-0.7*gone/long), light*(0.85+0.3*r.Float64()))
		if thick > 0.8 && r.IntN(9) == 0 {
			l.thread(x, y, dir+0.9*r.NormFloat64(), (long-gone)*0.5, thick*0.45, light*0.95, r)
		}
	}
}

// dot lays a soft dot at x, y (radii from the middle) of a radius in pixels.
func (l *layer) dot(x, y, radius, light float64) {
	cx, cy := (x+1)/2*across, (1-y)/2*across
	for py := int(cy - radius - 1); py <= int(cy+radius+1); py++ {
		for px := int(cx - radius - 1); px <= int(cx+radius+1); px++ {
			if px < 0 || py < 0 || px >= across || py >= across {
				continue
			}
			d := math.Hypot(float64(px)+0.5-cx, float64(py)+0.5-cy)
			alpha := min(max(radius+0.5-d, 0), 1)
			i := py*across + px
			if c := uint8(255 * alpha); c > l.cover[i] {
				l.cover[i] = c
			}
			if alpha > 0.3 { // lit from the side the lamp is on: the middle
				side := 1 + 0.25*((float64(px)+0.5-cx)*-x+(float64(py)+0.5-cy)*y)/max(radius, 1)
				l.light[i] = uint8(min(255*light*side, 255))
			}
		}
	}
}

// crescent is the end of a pipe that has dropped: its rim stands in the way at
// the crown, bright since it faces the lamp.
func crescent(f Feature, s Scene) layer {
	l := newLayer(f.From, 121, 138)
	base := materials[s.Pipe.Material]
	down := 0.10 + 0.32*f.Size
	for py := range across {
		for px := range across {
			x, y := float64(px)/across*2-1, 1-float64(py)/across*2
			a := math.Atan2(x, y)
			inner := math.Hypot(x, y+down)
			if math.Hypot(x, y) > 1.02 || inner < 1 {
				continue
			}
			rough := 0.05 * (math.Sin(17*a) + math.Sin(41*a+1))
			i := py*across + px
			l.cover[i] = uint8(255 * min(1, (inner-1)*60))
			l.light[i] = uint8(min(255*(float64(base.light)*1.25+rough-0.5*ramp(1.06, 1.0, inner)), 255))
		}
	}
	l.cb, l.cr = uint8(base.cb+2), uint8(base.cr-3)
	return l
}

// stones lie along the invert, each layer a row of lumps.
func stones(f Feature, r *rand.Rand) []layer {
	var all []layer
	for at := f.From; at <= math.Max(f.To, f.From+0.05); at += 0.016 {
		l := newLayer(at, 119, 133)
		middle := 1 - math.Abs(2*(at-f.From)/math.Max(f.To-f.From, 0.05)-1)
		for range 3 + int(14*f.Size*(0.3+middle)) {
			a := math.Pi + 0.55*r.NormFloat64()*(0.5+f.Size)
			size := 5 + 22*r.Float64()*f.Size
			up := 1.01 - 0.30*r.Float64()*middle*f.Size
			l.stone(up*math.Sin(a), up*math.Cos(a), size, 0.4+0.5*r.Float64(), r)
		}
		all = append(all, l)
	}
	return all
}

func (l *layer) stone(x, y, size, light float64, r *rand.Rand) {
	cx, cy := (x+1)/2*across, (1-y)/2*across
	flat, lean := 0.6+0.4*r.Float64(), r.Float64()*math.Pi
	for py := int(cy - size); py <= int(cy+size); py++ {
		for px := int(cx - size); px <= int(cx+size); px++ {
			if px < 0 || py < 0 || px >= across || py >= across {
				continue
			}
			dx, dy := float64(px)+0.5-cx, float64(py)+0.5-cy
			d := math.Hypot(dx, dy/flat) / size * (1 + 0.16*math.Sin(3*math.Atan2(dy, dx)+lean) + 0.08*math.Sin(7*math.Atan2(dy, dx)))
			if d >= 1 {
				continue
			}
			i := py*across + px
			l.cover[i] = uint8(255 * min(1, (1-d)*5))
			l.light[i] = uint8(min(255*light*(1.15-0.55*d*d-0.25*dy/size), 255))
		}
	}
}
