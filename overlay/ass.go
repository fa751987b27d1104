package overlay

import (
	"fmt"
	"io"
	"iter"

	"pushcue/subtitles"
)

// A Script is what libass draws for a layout.
type Script struct{ subtitles.Script }

// The captions' only colours. They are grey, so that no choice of colour matrix
// can tint them; their contrast is about 16:1, where WCAG 2.2 asks 7:1 at its
// strictest.
const (
	groundLevel = 0x16
	inkLevel    = 0xf2
)

// WriteTo writes the script, event by event.
func (s Script) WriteTo(w io.Writer) (int64, error) {
	counted := &counter{w: w}
	err := subtitles.WriteASS(counted, s.Script)
	return counted.n, err
}

func (l *Layout) script(events iter.Seq[subtitles.Event]) Script {
	style := func(name string, level uint8) subtitles.Style {
		grey := subtitles.Colour{R: level, G: level, B: level}
		return subtitles.Style{Name: name, Font: FontName, Size: l.size.line(), Ink: grey, Edge: grey, Shade: grey, Corner: 7}
	}
	return Script{subtitles.Script{
		Width: l.Width, Height: l.Height,
		Styles: []subtitles.Style{style("Text", inkLevel), style("Ground", groundLevel)},
		Events: events,
	}}
}

// text is an event that shows one text in a row of the block. Whatever the text
// holds, and however high its marks pile up, it is cut off at the block's ground.
func (l *Layout) text(b Block, s slot, r Range, text string) subtitles.Event {
	corner := 7
	if s.right {
		corner = 9
	}
	g := b.Ground
	return subtitles.Event{
		Layer: 1, From: l.moment(r.First), To: l.moment(r.Last + 1), Style: "Text",
		Tags: fmt.Sprintf(`\an%d\pos(%.2f,%.2f)\clip(%d,%d,%d,%d)`,
			corner, l.across(b, s), l.baseline(b, s.row)-l.size.rise(), g.Min.X, g.Min.Y, g.Max.X, g.Max.Y),
		Lines: []string{text},
	}
}

// ground is an event that paints the block's ground.
func (l *Layout) ground(b Block, r Range) subtitles.Event {
	g := b.Ground
	return subtitles.Event{
		From: l.moment(r.First), To: l.moment(r.Last + 1), Style: "Ground",
		Tags:    fmt.Sprintf(`\an7\pos(%d,%d)`, g.Min.X, g.Min.Y),
		Drawing: fmt.Sprintf("m 0 0 l %d 0 %[1]d %d 0 %[2]d", g.Dx(), g.Dy()),
	}
}

type counter struct {
	w io.Writer
	n int64
}

func (c *counter) Write(p []byte) (int, error) {
	n, err := c.w.Write(p)
	c.n += int64(n)
	return n, err
}
