package counterset

import (
	"fmt"
	"math/rand/v2"
	"strings"

	"pushcue/internal/footage"
)

// drawnPushes sets the pushes of drawn recordings apart from those of the groups.
const drawnPushes = 1000

var faces = []string{"mono", "mono-bold", "sans", "sans-bold", "condensed", "serif", "serif-bold", "medium", "typewriter",
	"bold", "slanted", "plain", "dots", "segments"}

// drawn draws samples by chance; one in three shows no counter, most of those another
// number that changes.
func drawn(seed uint64, count int) (all []sample) {
	d := chooser{rand.New(rand.NewPCG(seed, 71))}
	for i := range count {
		switch {
		case i%12 == 11:
			all = append(all, d.decoy())
		case i%3 == 2:
			all = append(all, d.gauges())
		default:
			all = append(all, d.counter())
		}
	}
	return all
}

type chooser struct{ *rand.Rand }

func (d chooser) chance(p float64) bool { return d.Float64() < p }

func (d chooser) between(from, to float64) float64 { return from + (to-from)*d.Float64() }

func oneOf[T any](d chooser, all ...T) T { return all[d.IntN(len(all))] }

func (d chooser) counter() sample {
	s := sample{kind: Plain, format: oneOf(d, "", "large"), crf: 20 + d.IntN(8)}
	s.look = d.look(16, 27)
	if s.format == "large" {
		s.look = d.look(16, 41)
	}
	s.look.Decimals = oneOf(d, 0, 1, 1, 1, 2, 2)
	s.look.Comma = s.look.Decimals > 0 && d.chance(0.25)
	s.look.Pad = oneOf(d, 0, 0, 0, 2, 2, 3)
	s.look.Unit = oneOf(d, "m", " m", "ft", " ft", "", "m", "M", " M", "FT", " FT", "Ft", "MTR", " MTS", "'")
	if s.look.Face == "dots" || s.look.Face == "segments" {
		s.look.Unit = oneOf(d, "m", " m", "ft", "") // a segment display shows a gap for letters
	} else if d.chance(0.2) {
		s.look.Before = oneOf(d, "D:", "D ", "M ", "FT:", "DIST: ")
		if strings.Trim(s.look.Before, " :") != "D" && strings.Trim(s.look.Before, " :") != "DIST" {
			s.look.Unit = ""
		}
	}
	s.look.Feet = strings.Contains(strings.ToLower(s.look.Before+s.look.Unit), "f") || s.look.Unit == "'"
	if s.look.Decimals == 2 && d.chance(0.4) {
		s.look.Step = 0.05
	}
	if d.chance(0.12) {
		s.every = 1
	}
	if d.chance(0.3) {
		s.gauges = []footage.Gauge{d.gauge(otherCorner(s.look))}
	}
	s.clock = oneOf(d, "", "", "clock", "elapsed")
	if d.chance(0.2) {
		s.zero = d.between(0.5, 3)
	}
	if d.chance(0.12) {
		s.rezero = []float64{d.between(12, 40)}
	}
	if d.chance(0.12) {
		from := d.between(8, 35)
		s.blank = [][2]float64{{from, from + d.between(1, 7)}}
	}
	if d.chance(0.3) {
		s.kind = Hard
		d.harden(&s)
	}
	s.name = s.describe()
	return s
}

func (d chooser) look(least, most int) footage.Look {
	l := footage.Look{Face: oneOf(d, faces...), Height: least + d.IntN(most-least), X: d.between(0.03, 0.2), Y: d.between(0.04, 0.08)}
	if d.chance(0.5) {
		l.Y = d.between(0.80, 0.88)
	}
	if l.Right = d.chance(0.4); l.Right {
		l.X = d.between(0.85, 0.97)
	}
	if l.Face == "dots" {
		l.Height = max(7*(l.Height/7), 14)
	}
	l.Proportional = l.Face != "dots" && l.Face != "segments" && d.chance(0.15)
	l.Outline = d.chance(0.6)
	l.Box = !l.Outline
	l.Shadow = d.chance(0.15)
	if d.chance(0.4) {
		l.Luma, l.Cb, l.Cr = uint8(d.between(150, 235)), uint8(d.between(40, 215)), uint8(d.between(40, 215))
	}
	return l
}

// harden gives a sample one of the things that make reading hard.
func (d chooser) harden(s *sample) {
	switch d.IntN(6) {
	case 0:
		s.look.Outline, s.look.Box = false, false
	case 1:
		s.format, s.codec = "laced", "mpeg2"
		s.look.Height = min(s.look.Height, 24)
	case 2:
		s.look.Height = 12 + d.IntN(4)
		if s.look.Face == "dots" {
			s.look.Height = 14
		}
	case 3:
		s.crf = 28 + d.IntN(5)
	case 4:
		s.tape = d.between(0.2, 0.5)
	case 5:
		s.codec = "mjpeg"
		s.look.Height = 10 + d.IntN(6)
		if s.look.Face == "dots" {
			s.look.Height = 14
		}
	}
}

// decoy has no counter: clocks, times written in unusual ways, words, or nothing.
func (d chooser) decoy() sample {
	s := sample{kind: None, format: oneOf(d, "", "large"), crf: 20 + d.IntN(8), clockAt: d.look(14, 26)}
	s.clock = oneOf(d, "clock", "elapsed", "seconds", "dotted", "tenths", "minutes", "words", "number", "")
	s.name = "no counter: " + s.clock + " in " + s.clockAt.Face
	return s
}

// gauges shows no counter but one other number, or two.
func (d chooser) gauges() sample {
	s := sample{kind: None, format: oneOf(d, "", "large"), crf: 20 + d.IntN(8)}
	first := d.gauge(d.look(16, 26))
	s.gauges, s.name = []footage.Gauge{first}, "no counter: "+first.Of+first.Look.Unit
	if d.chance(0.4) {
		second := d.gauge(otherCorner(first.Look))
		s.gauges, s.name = append(s.gauges, second), s.name+", "+second.Of+second.Look.Unit
	}
	s.clock = oneOf(d, "", "", "clock")
	return s
}

// gauge is another number than the counter, written as it is usual for it or without what
// it counts in.
func (d chooser) gauge(l footage.Look) footage.Gauge {
	g := footage.Gauge{Of: oneOf(d, "slope", "temperature", "depth", "battery"), Look: l}
	g.Look.Before, g.Look.Pad, g.Look.Feet, g.Look.Step, g.Look.Comma, g.Look.Decimals = "", 0, false, 0, false, 1
	switch g.Of {
	case "slope":
		g.Look.Unit = oneOf(d, "%", " %", "%", "°", "")
	case "temperature":
		g.Look.Unit = oneOf(d, "°C", " C", "C", "")
	case "depth":
		g.Look.Decimals, g.Look.Unit = 2, oneOf(d, "m", " m", "")
	default:
		g.Look.Decimals, g.Look.Unit = 0, oneOf(d, "%", " %", "V", "")
	}
	return g
}

// otherCorner is the same lettering at the opposite edges of the picture.
func otherCorner(l footage.Look) footage.Look {
	l.X, l.Right = 1-l.X, !l.Right
	if l.Y < 0.5 {
		l.Y = 0.84
	} else {
		l.Y = 0.06
	}
	return l
}

// describe tells a look in short.
func (s sample) describe() string {
	l := s.look
	text := fmt.Sprintf("%s %d.%d/%d", l.Face, l.Height, l.Decimals, l.Pad)
	for _, trait := range []struct {
		on   bool
		word string
	}{
		{l.Right, "right"}, {l.Comma, "comma"}, {l.Proportional, "prop"}, {l.Outline, "outl"}, {l.Box, "box"}, {l.Shadow, "shadow"}, {l.Luma != 0, "colour"},
		{l.Before != "", l.Before}, {l.Unit != "", l.Unit}, {l.Step != 0, "steps"}, {s.every != 0, "refreshed each second"}, {s.gauges != nil, "gauge"}, {s.zero != 0, "below"}, {s.rezero != nil, "rezero"}, {s.blank != nil, "hidden"},
		{s.tape != 0, "tape"}, {s.codec != "", s.codec}, {s.format != "", s.format}, {s.clock != "", s.clock}, {s.crf > 27, fmt.Sprint("crf", s.crf)},
	} {
		if trait.on {
			text += " " + trait.word
		}
	}
	return text
}
