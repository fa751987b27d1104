package testfootage

import (
	"slices"

	"pushcue/internal/framenumber"
)

// A painter paints frames in 8-bit YUV 4:2:0.
type painter struct {
	spec          Spec
	width, height int // as a viewer sees them
	frame         []byte
}

func newPainter(s Spec) *painter {
	p := &painter{spec: s, width: s.Width, height: s.Height}
	if s.Rotation%180 != 0 {
		p.width, p.height = s.Height, s.Width
	}
	p.frame = make([]byte, p.width*p.height+2*((p.width+1)/2)*((p.height+1)/2))
	for i := p.width * p.height; i < len(p.frame); i++ {
		p.frame[i] = 128
	}
	return p
}

// paint returns the i-th frame shown, valid until the next call; negative ones
// are the pre-roll.
func (p *painter) paint(i int) []byte {
	number := p.spec.First + i
	if i < 0 {
		number = Hidden + p.spec.PreRoll + i
	}
	p.background(p.phase(i), slices.Contains(p.spec.Blurred, number))
	if slices.Contains(p.spec.Bright, number) {
		p.lift(140)
	}
	if slices.Contains(p.spec.Dark, number) {
		p.lift(-110)
	}
	framenumber.Draw(p.frame, p.width, p.width, p.height, number)
	return p.frame
}

// phase is how far the background has moved by the i-th frame.
func (p *painter) phase(i int) int {
	phase := 0
	for n := 1; n <= i; n++ {
		still := slices.ContainsFunc(p.spec.Stand, func(s [2]int) bool {
			return p.spec.First+n > s[0] && p.spec.First+n <= s[1]
		})
		if !still {
			phase++
		}
	}
	return phase
}

// background is a moving pattern of rings and edges, or its mere shading.
func (p *painter) background(phase int, blurred bool) {
	for y := range p.height {
		row := p.frame[y*p.width : (y+1)*p.width]
		for x := range row {
			v := 90 + (x+2*phase)%64/2 + y%64/2
			if !blurred && ((x+2*phase)/8+y/8)%2 == 0 {
				v += 40
			}
			row[x] = byte(v)
		}
	}
}

func (p *painter) lift(by int) {
	for i, v := range p.frame[:p.width*p.height] {
		p.frame[i] = byte(min(max(int(v)+by, 16), 235))
	}
}
