package subtitles

import (
	"bufio"
	"fmt"
	"io"
	"iter"
	"strings"
)

// A Script is what libass draws on a picture, in the form of Advanced SubStation
// Alpha v4.00+. Nothing in it is scaled or wrapped: it is laid out for a picture of
// just this size, in pixels.
type Script struct {
	Width, Height int
	Styles        []Style
	Events        iter.Seq[Event] // asked for one by one while the script is written
}

// A Style is how text looks.
type Style struct {
	Name, Font      string
	Size            float64 // line height in pixels
	Ink, Edge       Colour  // of letters, and of their outline
	Shade           Colour  // of the shadow
	Bold            bool
	Outline, Shadow float64 // in pixels
	Corner          int     // as on a number pad: 7 is top left
}

// A Colour has red, green and blue from 0 to 255.
type Colour struct{ R, G, B uint8 }

// An Event is something drawn from one moment to another.
type Event struct {
	Layer    int
	From, To int64 // hundredths of a second, all that the format has
	Style    string
	Tags     string   // override tags without braces, never of foreign text: \an7\pos(8,8)
	Drawing  string   // drawing commands, never of foreign text; in place of Lines
	Lines    []string // as a person would read them
}

// WriteASS writes a script. It is written by hand because go-astisub leaves out what
// makes a script look the same everywhere (ScaledBorderAndShadow, YCbCr Matrix),
// orders styles by chance, and needs all events at once.
func WriteASS(w io.Writer, s Script) error {
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "[Script Info]\nScriptType: v4.00+\nPlayResX: %d\nPlayResY: %d\n", s.Width, s.Height)
	b.WriteString("WrapStyle: 2\nScaledBorderAndShadow: yes\nYCbCr Matrix: None\n\n[V4+ Styles]\n")
	b.WriteString("Format: Name, Fontname, Fontsize, PrimaryColour, SecondaryColour, OutlineColour, BackColour, " +
		"Bold, Italic, Underline, StrikeOut, ScaleX, ScaleY, Spacing, Angle, BorderStyle, Outline, Shadow, " +
		"Alignment, MarginL, MarginR, MarginV, Encoding\n")
	for _, style := range s.Styles {
		writeStyle(b, style)
	}
	b.WriteString("\n[Events]\nFormat: Layer, Start, End, Style, Name, MarginL, MarginR, MarginV, Effect, Text\n")
	for e := range s.Events {
		writeEvent(b, e)
	}
	return b.Flush()
}

func writeStyle(b *bufio.Writer, s Style) {
	bold := 0
	if s.Bold {
		bold = -1 // the format's way to say yes
	}
	fmt.Fprintf(b, "Style: %s,%s,%.3f,%s,%[4]s,%s,%s,%d,0,0,0,100,100,0,0,1,%g,%g,%d,0,0,0,1\n",
		s.Name, s.Font, s.Size, s.Ink, s.Edge, s.Shade, bold, s.Outline, s.Shadow, s.Corner)
}

func writeEvent(b *bufio.Writer, e Event) {
	text := e.Drawing
	tags := e.Tags
	if text != "" {
		tags += `\p1`
	} else {
		lines := make([]string, len(e.Lines))
		for i, line := range e.Lines {
			lines[i] = safe(line, ass)
		}
		text = strings.Join(lines, `\N`)
	}
	if tags != "" {
		text = "{" + tags + "}" + text
	}
	fmt.Fprintf(b, "Dialogue: %d,%s,%s,%s,,0,0,0,,%s\n", e.Layer, hundredths(e.From), hundredths(e.To), e.Style, text)
}

// String writes the colour as the format does: opaque, blue first.
func (c Colour) String() string { return fmt.Sprintf("&H00%02X%02X%02X", c.B, c.G, c.R) }

func hundredths(h int64) string {
	h = max(0, h)
	return fmt.Sprintf("%d:%02d:%02d.%02d", h/360_000, h/6000%60, h/100%60, h%100)
}
