package overlay

import (
	"fmt"
	"io"
	"iter"

	"pushcue/subtitles"
)

// A Script is what libass draws, in the form of Advanced SubStation Alpha v4.00+.
type Script struct {
	layout *Layout
	events iter.Seq[event]
}

// The captions' only colours. They are grey, so that no choice of colour matrix
// can tint them; their contrast is about 16:1 (WCAG 2.2 asks 7:1 at the most).
const (
	groundLevel = 0x16
	inkLevel    = 0xf2
)

// The script's styles: letters, and the grounds they stand on.
const (
	textStyle   = "Text"
	groundStyle = "Ground"
)

// WriteTo writes the script, event by event.
func (s Script) WriteTo(w io.Writer) (int64, error) {
	l := s.layout
	counted := &counter{w: w}
	err := subtitles.WriteASS(counted, subtitles.Script{
		Width: l.Width, Height: l.Height,
		Styles: []subtitles.Style{
			{Name: textStyle, Font: FontName, Size: l.size.line(), Ink: grey(inkLevel), Edge: grey(groundLevel), Shade: grey(groundLevel), Corner: 7},
			{Name: groundStyle, Font: FontName, Size: l.size.line(), Ink: grey(groundLevel), Edge: grey(groundLevel), Shade: grey(groundLevel), Corner: 7},
		},
		Events: func(yield func(subtitles.Event) bool) {
			for e := range s.events {
				if !yield(e.drawn()) {
					return
				}
			}
		},
	})
	return counted.n, err
}

func grey(level uint8) subtitles.Colour { return subtitles.Colour{R: level, G: level, B: level} }

// drawn is the event as libass is told to draw it.
func (e event) drawn() subtitles.Event {
	g := e.block.Ground
	if e.box {
		return subtitles.Event{From: e.from, To: e.to, Style: groundStyle,
			Tags:    fmt.Sprintf(`\an7\pos(%d,%d)`, g.Min.X, g.Min.Y),
			Drawing: fmt.Sprintf("m 0 0 l %d 0 %[1]d %d 0 %[2]d", g.Dx(), g.Dy())}
	}
	corner := 7
	if e.right {
		corner = 9
	}
	return subtitles.Event{Layer: 1, From: e.from, To: e.to, Style: textStyle,
		Tags:  fmt.Sprintf(`\an%d\pos(%.2f,%.2f)\clip(%d,%d,%d,%d)`, corner, e.x, e.y, g.Min.X, g.Min.Y, g.Max.X, g.Max.Y),
		Lines: []string{e.text}}
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
