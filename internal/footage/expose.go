package footage

import "math"

const tonesAll = 640 // values of light that are told apart

// setTones makes the camera's curve: a soft shoulder, and the gain of the moment.
func (p *Shoot) setTones() {
	for v := range p.tones {
		x := float64(v) / 255 * p.gain
		p.tones[v] = uint8(16 + 219*(1-math.Exp(-1.75*x))/(1-math.Exp(-1.75*1.35))*0.98)
		if v > 0 && p.tones[v] < p.tones[v-1] {
			p.tones[v] = 235
		}
	}
}

// develop turns light into luma, and takes the colour out of the dark.
func (p *Shoot) develop(first, step int) {
	w := p.rec.Width
	for y := first; y < p.rec.Height; y += step {
		row := p.frame[y*w : (y+1)*w]
		for x, v := range p.values[y*w : (y+1)*w] {
			row[x] = min(p.tones[min(v, tonesAll-1)], 235)
		}
		if c := p.chromaRow(y); c >= 0 {
			cb, cr := p.planes(c)
			for x := range cb {
				strong := min(int(row[2*x])-10, 130)
				cb[x] = uint8(128 + (int(cb[x])-128)*strong>>7)
				cr[x] = uint8(128 + (int(cr[x])-128)*strong>>7)
			}
		}
		p.grain.sprinkle(row, p.gain)
	}
}

// expose lets the gain follow the picture, as a camera's does: late.
func (p *Shoot) expose() {
	sum, count := 0, 0
	for i := 0; i < p.rec.Width*p.rec.Height; i += 53 {
		sum += int(p.frame[i])
		count++
	}
	mean := float64(sum)/float64(count) - 16
	wanted := min(max(p.gain*82/max(mean, 1), 0.45), 2.1)
	p.gain += (wanted - p.gain) * min(1, 1.6/p.rec.Rate)
	if p.index == 0 {
		p.gain = wanted
	}
}

// chromaRow is the row of the colour planes that goes with a row of luma, -1
// where there is none. In interlaced frames each field has rows of its own.
func (p *Shoot) chromaRow(y int) int {
	if !p.rec.Interlaced {
		if y&1 == 0 {
			return y / 2
		}
		return -1
	}
	if y&2 == 0 {
		return y/4*2 + y&1
	}
	return -1
}

// planes returns a row of both colour planes.
func (p *Shoot) planes(row int) (cb, cr []byte) {
	half := p.rec.Width / 2
	size := p.rec.Width * p.rec.Height
	at := size + row*half
	return p.frame[at : at+half], p.frame[at+size/4 : at+size/4+half]
}

func (p *Shoot) colour(row, x int, cb, cr uint8) {
	size := p.rec.Width * p.rec.Height
	at := size + row*p.rec.Width/2 + x
	p.frame[at], p.frame[at+size/4] = cb, cr
}
