package overlay

import (
	"bufio"
	"fmt"
	"io"
	"iter"
	"strings"
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

// WriteTo writes the script, event by event.
func (s Script) WriteTo(w io.Writer) (int64, error) {
	counted := &counter{w: w}
	b := bufio.NewWriter(counted)
	s.head(b)
	for e := range s.events {
		if e.box {
			writeGround(b, e)
		} else {
			writeText(b, e)
		}
	}
	err := b.Flush()
	return counted.n, err
}

func (s Script) head(b *bufio.Writer) {
	l := s.layout
	fmt.Fprintf(b, "[Script Info]\nScriptType: v4.00+\nPlayResX: %d\nPlayResY: %d\n", l.Width, l.Height)
	// No wrapping and no scaling: rows are broken and placed by the layout.
	b.WriteString("WrapStyle: 2\nScaledBorderAndShadow: yes\nYCbCr Matrix: None\n\n[V4+ Styles]\n")
	b.WriteString("Format: Name, Fontname, Fontsize, PrimaryColour, SecondaryColour, OutlineColour, BackColour, " +
		"Bold, Italic, Underline, StrikeOut, ScaleX, ScaleY, Spacing, Angle, BorderStyle, Outline, Shadow, " +
		"Alignment, MarginL, MarginR, MarginV, Encoding\n")
	fmt.Fprintf(b, "Style: Text,%s,%.3f,%s,%[3]s,%s,%[4]s,0,0,0,0,100,100,0,0,1,0,0,7,0,0,0,1\n",
		FontName, l.size.line(), grey(inkLevel), grey(groundLevel))
	fmt.Fprintf(b, "Style: Ground,%s,%.3f,%s,%[3]s,%[3]s,%[3]s,0,0,0,0,100,100,0,0,1,0,0,7,0,0,0,1\n\n",
		FontName, l.size.line(), grey(groundLevel))
	b.WriteString("[Events]\nFormat: Layer, Start, End, Style, Name, MarginL, MarginR, MarginV, Effect, Text\n")
}

func grey(level int) string { return fmt.Sprintf("&H00%02X%02[1]X%02[1]X", level) }

func writeText(b *bufio.Writer, e event) {
	corner := 7
	if e.right {
		corner = 9
	}
	g := e.block.Ground
	fmt.Fprintf(b, "Dialogue: 1,%s,%s,Text,,0,0,0,,{\\an%d\\pos(%.2f,%.2f)\\clip(%d,%d,%d,%d)}%s\n",
		clockTime(e.from), clockTime(e.to), corner, e.x, e.y, g.Min.X, g.Min.Y, g.Max.X, g.Max.Y, escape.Replace(e.text))
}

func writeGround(b *bufio.Writer, e event) {
	g := e.block.Ground
	fmt.Fprintf(b, "Dialogue: 0,%s,%s,Ground,,0,0,0,,{\\an7\\pos(%d,%d)\\p1}m 0 0 l %d 0 %[5]d %d 0 %[6]d\n",
		clockTime(e.from), clockTime(e.to), g.Min.X, g.Min.Y, g.Dx(), g.Dy())
}

// escape keeps text from acting as code. A backslash has no escape: a word joiner
// after it, which shows nothing, parts it from the letter it would act on.
var escape = strings.NewReplacer(`\`, "\\\u2060", "{", `\{`, "}", `\}`, "\n", " ", "\r", " ")

// clockTime writes hundredths of a second as a script has them.
func clockTime(h int64) string {
	return fmt.Sprintf("%d:%02d:%02d.%02d", h/360_000, h/6000%60, h/100%60, h%100)
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
