package footage

import (
	"image"
	"image/color"
	"math"
	"math/rand/v2"
)

// Yard is a photo as somebody takes it by hand before the camera goes in: an access
// point in a paved yard, its cover laid beside it, the cable running down into it.
func Yard(seed uint64, width, height int) image.Image {
	r := rand.New(rand.NewPCG(seed, 0x79617264))
	y := yard{stone: newField(r, 8, 6), tone: newField(r, 16, 3)}
	out := image.NewRGBA(image.Rect(0, 0, width, height))
	const fine = 2 // rays across a pixel
	for py := range height {
		for px := range width {
			var sum ink
			for s := range fine * fine {
				u := (float64(px) + (float64(s%fine)+0.5)/fine - float64(width)/2) / float64(width)
				v := (float64(py)+(float64(s/fine)+0.5)/fine)/float64(height) - 0.5
				sum = sum.plus(y.seen(u, v, float64(height)/float64(width)), 1.0/fine/fine)
			}
			out.SetRGBA(px, py, sum.pixel(r.NormFloat64()*2.5))
		}
	}
	return out
}

// ink is a colour, 0 to 255 each.
type ink struct{ r, g, b float64 }

func (c ink) plus(d ink, share float64) ink {
	return ink{c.r + d.r*share, c.g + d.g*share, c.b + d.b*share}
}

func (c ink) times(k float64) ink { return ink{c.r * k, c.g * k, c.b * k} }

// over is d where share is 1, c where it is 0.
func (c ink) over(d ink, share float64) ink { return c.times(1-share).plus(d, share) }

func (c ink) pixel(grain float64) color.RGBA {
	one := func(v float64) uint8 { return uint8(min(max(v+grain, 0), 255)) }
	return color.RGBA{one(c.r), one(c.g), one(c.b), 255}
}

// yard is the ground, in metres: x to the right, z away from who took the photo, who
// looks down on it from about a person's height.
type yard struct{ stone, tone *field }

const (
	eye      = 1.55 // metres above the ground
	tilt     = 0.95 // radians down from the horizon
	holeX    = 0.05
	holeZ    = 1.10
	holeWide = 0.155 // its radius
	lidX     = 0.62
	lidZ     = 1.34
)

// seen is what a ray through u, v of the picture meets.
func (y yard) seen(u, v, shape float64) ink {
	const wide = 0.80 // of the field of view, as a tangent
	sin, cos := math.Sincos(tilt)
	dx, dy := u*wide, v*wide*shape
	down, ahead := sin+dy*cos, cos-dy*sin
	k := eye / math.Max(down, 0.05)
	return y.ground(dx*k, ahead*k, k)
}

// ground is the colour at a spot; far is how long the ray to it is.
func (y yard) ground(x, z, far float64) ink {
	c := y.paving(x, z)
	c = y.lid(c, x, z)
	d := math.Hypot(x-holeX, z-holeZ)
	switch {
	case d < holeWide:
		c = y.inside(x, z)
	case d < holeWide+0.035: // the frame
		c = ink{112, 112, 114}.times(0.8 + 0.35*float64(y.stone.between(float32(z*900), float32(x*900))) + 0.25*ramp(holeWide+0.03, holeWide, d))
	default:
		c = c.times(1 - 0.35*ramp(holeWide+0.09, holeWide+0.03, d)) // dirt about it
	}
	c = y.cable(c, x, z)
	return c.times(1.12 - 0.10*far)
}

// paving is of stones half a metre by a quarter, laid in bond.
func (y yard) paving(x, z float64) ink {
	row := math.Floor(z / 0.25)
	along := x/0.5 + math.Mod(row, 2)*0.5 + 40
	fx, fz := along-math.Floor(along), z/0.25-row
	gap := math.Min(math.Min(fx, 1-fx)*0.5, math.Min(fz, 1-fz)*0.25)
	stone := float64(y.tone.at(int(row)*37, int(math.Floor(along))*53))
	grainy := float64(y.stone.between(float32(z*700), float32(x*700)))
	c := ink{168, 160, 147}.times(0.92 + 0.10*stone + 0.16*grainy)
	joint := ink{86, 84, 70}.times(0.9 + 0.5*float64(y.stone.between(float32(z*300), float32(x*300))))
	return c.over(joint, ramp(0.011, 0.005, gap))
}

// inside is the shaft's wall, then darkness and the pipe's mouth with water shining.
func (y yard) inside(x, z float64) ink {
	px, pz := (x-holeX)/holeWide, (z-holeZ)/holeWide
	deep := ramp(1.0, -0.1, pz) // the far wall is seen, the near one isn't
	wall := ink{120, 104, 90}.times(0.85 - 0.75*deep + 0.2*float64(y.stone.between(float32(z*1500), float32(x*1500))))
	if pool := math.Hypot(px*1.1, (pz+0.45)*2); pool < 0.6 {
		wall = ink{16, 19, 20}.plus(ink{58, 66, 70}, ramp(0.5, 0.1, math.Hypot(px*1.4-0.1, (pz+0.47)*5)))
	}
	return wall
}

// lid lies flat beside the hole, with its shadow and two holes to lift it by.
func (y yard) lid(c ink, x, z float64) ink {
	const wide = 0.175
	if math.Hypot(x-lidX-0.02, z-lidZ+0.02) < wide {
		c = c.times(0.55)
	}
	d := math.Hypot(x-lidX, z-lidZ)
	if d > wide {
		return c
	}
	iron := ink{98, 92, 86}.times(0.85 + 0.3*float64(y.stone.between(float32(z*800), float32(x*800))))
	rib := math.Mod(math.Abs((x-lidX)+(z-lidZ))/0.034, 1)
	if d < wide-0.03 && rib < 0.45 {
		iron = iron.times(1.22)
	}
	if d > wide-0.012 {
		iron = iron.times(1.3)
	}
	for _, side := range []float64{-0.1, 0.1} {
		if math.Hypot(x-lidX-side, z-lidZ) < 0.014 {
			return ink{18, 17, 16}
		}
	}
	return iron
}

// cable comes in from the left and goes over the rim.
func (y yard) cable(c ink, x, z float64) ink {
	if x > holeX-0.02 {
		return c
	}
	at := holeZ + 0.02 + 0.10*math.Sin((x-holeX)*3.1) - 0.16*(x-holeX)
	if d := math.Abs(z - 0.018 - at); d < 0.012 && x < holeX-holeWide {
		c = c.times(0.6) // its shadow
	}
	d := (z - at) / 0.011
	if math.Abs(d) > 1 {
		return c
	}
	shine := 0.55 + 0.6*math.Sqrt(1-d*d)
	return ink{196, 150, 40}.times(shine * (1 - 0.75*ramp(holeX-holeWide*0.6, holeX-0.02, x)))
}
