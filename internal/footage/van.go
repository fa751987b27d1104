package footage

import "math"

// van paints what every recording begins with: the ribbed mat of the van's
// floor in daylight, the head swinging over it.
func (p *Shoot) van(at float64, first, step int) {
	rec := p.rec
	swing := 0.5 * p.jolt.at(at*1.1)
	sin, cos := math.Sincos(0.4 + swing)
	panX, panY := 160*p.swayX.at(at*0.8)+30*at, 120*p.swayY.at(at*0.9)
	zoom := 480 / float64(rec.Height) * (1.2 + 0.4*p.jolt.at(at*0.5+7))
	for y := first; y < rec.Height; y += step {
		for x := range rec.Width {
			ox := (float64(x) - float64(rec.Width)/2) * zoom * rec.PixelAspect
			oy := (float64(y) - float64(rec.Height)/2) * zoom
			u, v := ox*cos-oy*sin+panX, ox*sin+oy*cos+panY
			rib := math.Abs(math.Mod(u/26+1000, 1) - 0.5)
			light := 105 + 120*ramp(0.30, 0.42, rib)*(1-ramp(0.42, 0.5, rib)*0.7)
			light += 45*float64(p.ripples.at(int(u), int(v))) + 0.10*v
			if sand := p.ripples.at(int(u*3+200), int(v*3)); sand > 0.7 {
				light += 70
			}
			p.values[y*rec.Width+x] = uint16(min(max(light, 12), tonesAll-1))
		}
		if c := p.chromaRow(y); c >= 0 {
			for x := range rec.Width / 2 {
				p.colour(c, x, 131, 126)
			}
		}
	}
}
