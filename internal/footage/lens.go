package footage

import "math"

// A lens knows, for every pixel, which spot of the wall it looks at. The map is
// wider than the picture, so that the camera can look aside a little.
type lens struct {
	width, height int // of the map
	margin        int
	focal         float64 // in pixels, upright
	aspect        float64
	bore          float64 // the pipe's radius, metres

	depth  []uint32 // to the spot, along the line, 1/16 mm
	column []uint16 // of the wall, in sixteenths
	shade  []uint16 // light that falls on it, 256 is full
	level  []uint8  // of the wall to read
}

const (
	eyeLow   = 0.16  // the eye is this much below the middle, in radii
	farthest = 2.6   // metres; beyond, nothing is seen
	fullAt   = 110.0 // light (1/m²) that gives full shade
)

func newLens(rec Recorder, bore float64) *lens {
	l := &lens{margin: rec.Width / 9, aspect: rec.PixelAspect, bore: bore / 2}
	l.width, l.height = rec.Width+2*l.margin, rec.Height+2*l.margin
	l.focal = 0.60 * float64(rec.Height)
	count := l.width * l.height
	l.depth, l.column = make([]uint32, count), make([]uint16, count)
	l.shade, l.level = make([]uint16, count), make([]uint8, count)
	for y := range l.height {
		for x := range l.width {
			l.look(x, y)
		}
	}
	return l
}

// look meets the ray through one pixel with the wall.
func (l *lens) look(x, y int) {
	dx := (float64(x) + 0.5 - float64(l.width)/2) * l.aspect / l.focal
	dy := (float64(l.height)/2 - float64(y) - 0.5) / l.focal
	eye := -eyeLow * l.bore
	a, b, c := dx*dx+dy*dy+1e-9, eye*dy, eye*eye-l.bore*l.bore
	t := math.Min((-b+math.Sqrt(b*b-a*c))/a, farthest) // metres along the line
	px, py := t*dx, eye+t*dy
	long := t * math.Sqrt(1+dx*dx+dy*dy)
	facing := (px*dx + py*dy) / l.bore / math.Sqrt(1+dx*dx+dy*dy)
	around := math.Mod(math.Atan2(px, py)/(2*math.Pi)+1, 1)

	i := y*l.width + x
	l.depth[i] = uint32(t * 16000)
	l.column[i] = uint16(around*turn*16) % (turn * 16)
	l.shade[i] = uint16(256 * fall(facing/(long*long)) * (1 - 0.16*a))
	perPixel := l.bore * perM / (l.focal * a) // wall rows that one pixel covers
	l.level[i] = uint8(min(max(math.Log2(perPixel)+0.3, 0), levels-1))
}

// fall turns light into what a camera makes of it.
func fall(light float64) float64 {
	return math.Min(1.25, math.Pow(math.Max(light, 0)/fullAt, 0.54))
}
