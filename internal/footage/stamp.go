package footage

import (
	"fmt"
	"math"
	"strings"
	"time"

	"pushcue/internal/framenumber"
)

// A stamp is one text that the recorder writes into the picture.
type stamp struct {
	look    Look
	letters map[rune]*letter
	text    func(at float64) string
}

func (p *Shoot) prepareMarks() error {
	add := func(look Look, text func(float64) string) error {
		set, err := letters(look, p.rec.Height)
		if err == nil {
			p.marks = append(p.marks, stamp{look, set, text})
		}
		return err
	}
	if c := p.rec.Counter; c != nil {
		if err := add(c.Look, p.counterText); err != nil {
			return err
		}
	}
	for _, g := range p.rec.Gauges {
		if err := add(g.Look, func(at float64) string { return g.Look.write(g.value(p.scene, at)) }); err != nil {
			return err
		}
	}
	if c := p.rec.Clock; c != nil {
		look := c.Look
		if look.Face == "" {
			look = ClockLook
		}
		return add(look, func(at float64) string { return c.text(at, p.rec.From) })
	}
	return nil
}

func (p *Shoot) counterText(at float64) string {
	return p.rec.Counter.Text(p.scene, at)
}

// Text is what the counter shows at a second of the scene; "" when it is hidden.
func (c *Counter) Text(s Scene, at float64) string {
	if c.blank(at) {
		return ""
	}
	if c.Every > 0 {
		at = math.Floor(at/c.Every) * c.Every
	}
	return c.Look.write(c.shown(s, at))
}

// value is what a gauge shows. Slope and depth go by where the head is, the others by time;
// none of them is steady.
func (g *Gauge) value(s Scene, at float64) float64 {
	x := s.state(at).distance
	unrest := 0.5*math.Sin(at*1.9) + 0.3*math.Sin(at*5.3+1) + 0.2*math.Sin(at*0.37)
	switch g.Of {
	case "slope":
		return -1 + 1.5*math.Sin(x*1.3) + 0.3*unrest
	case "temperature":
		return 14.2 + 0.5*math.Sin(at/9) + 0.12*unrest
	case "depth":
		return 1.2 + 0.25*math.Sin(x/1.1) + 0.03*unrest
	default: // battery
		return 83 - at/4 + unrest
	}
}

// write writes a length of so many metres.
func (l Look) write(metres float64) string {
	v := metres
	if l.Feet {
		v /= 0.3048
	}
	scale := math.Pow10(l.Decimals)
	if l.Step > 0 {
		v = math.Round(v/l.Step) * l.Step
	}
	v = math.Round(v*scale) / scale
	text := fmt.Sprintf("%.*f", l.Decimals, math.Abs(v))
	whole := len(text)
	if dot := strings.IndexByte(text, '.'); dot >= 0 {
		whole = dot
	}
	text = strings.Repeat("0", max(0, l.Pad-whole)) + text
	if l.Comma {
		text = strings.Replace(text, ".", ",", 1)
	}
	if v < 0 {
		text = "-" + text
	}
	return l.Before + text + l.Unit
}

func (c *Clock) text(at, from float64) string {
	if c.Elapsed {
		s := int(at - from)
		return fmt.Sprintf("%02d:%02d:%02d", s/3600, s/60%60, s%60)
	}
	format := c.Format
	if format == "" {
		format = "02.01.2006 15:04:05"
	}
	return c.At.Add(time.Duration(at * float64(time.Second))).Format(format)
}

func (p *Shoot) stampMarks(at float64) {
	for _, m := range p.marks {
		if text := m.text(at); text != "" {
			p.stamp(m, text)
		}
	}
}

func (p *Shoot) stamp(m stamp, text string) {
	wide, tall := 0, 0
	for _, r := range text {
		wide += m.letters[r].advance
		tall = max(tall, m.letters[r].height)
	}
	x, y := int(m.look.X*float64(p.rec.Width)), int(m.look.Y*float64(p.rec.Height))
	if m.look.Right {
		x -= wide
	}
	x, y = min(max(x, 2), p.rec.Width-wide-2), min(y, p.rec.Height-tall-1)
	if m.look.Box {
		p.box(x-4, y-3, wide+8, tall)
	}
	for _, r := range text {
		p.letter(m, m.letters[r], x-room, y-room)
		x += m.letters[r].advance
	}
}

func (p *Shoot) box(x, y, w, h int) {
	for py := max(y, 0); py < min(y+h, p.rec.Height); py++ {
		for px := max(x, 0); px < min(x+w, p.rec.Width); px++ {
			p.frame[py*p.rec.Width+px] = 20
			if c := p.chromaRow(py); c >= 0 {
				p.colour(c, px/2, 128, 128)
			}
		}
	}
}

func (p *Shoot) letter(m stamp, l *letter, x, y int) {
	luma := m.look.Luma
	if luma == 0 {
		luma = 230
	}
	for ly := range l.height {
		for lx := range l.width {
			px, py := x+lx, y+ly
			if px < 0 || py < 0 || px >= p.rec.Width || py >= p.rec.Height {
				continue
			}
			i := ly*l.width + lx
			dot := &p.frame[py*p.rec.Width+px]
			if m.look.Outline {
				*dot = blend(*dot, 18, l.edge[i])
			}
			if m.look.Shadow && lx >= 2 && ly >= 2 {
				*dot = blend(*dot, 18, l.fill[i-2*l.width-2])
			}
			if l.fill[i] == 0 {
				continue
			}
			*dot = blend(*dot, luma, l.fill[i])
			if c := p.chromaRow(py); c >= 0 && l.fill[i] > 100 {
				cb, cr := m.look.Cb, m.look.Cr
				if cb == 0 {
					cb, cr = 128, 128
				}
				p.colour(c, px/2, cb, cr)
			}
		}
	}
}

func blend(under, over, cover uint8) uint8 {
	return uint8((int(under)*(255-int(cover)) + int(over)*int(cover)) / 255)
}

// number writes the frame's number as blocks.
func (p *Shoot) number() {
	if !p.rec.Numbers {
		return
	}
	framenumber.Draw(p.frame, p.rec.Width, p.rec.Width, p.rec.Height, p.index)
	top, _, bottom := framenumber.Rows(p.rec.Height)
	for y := top; y < bottom; y++ {
		if c := p.chromaRow(y); c >= 0 {
			for x := range p.rec.Width / 2 {
				p.colour(c, x, 128, 128)
			}
		}
	}
}
