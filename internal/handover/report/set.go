package report

import (
	"fmt"
	"slices"
	"strings"
	"sync"
	"unicode"

	"github.com/go-fonts/dejavu/dejavusans"
	"golang.org/x/image/font/sfnt"

	"pushcue/overlay"
)

// text sets one paragraph; nothing for "".
func (s *sheets) text(size float64, weight, t string) {
	if t == "" {
		return
	}
	s.SetFont("text", weight, size)
	s.paragraph(s.wide, size*perPoint, t)
}

// paragraph sets a text from where the pen stands, in the font that is set, and goes to
// the next line's beginning. Lines are broken as they are read, and turned to how they
// are drawn after that.
func (s *sheets) paragraph(wide, high float64, t string) {
	for _, line := range s.SplitText(plain(t), wide) {
		s.CellFormat(wide, high, overlay.Drawn(line), "", 2, "L", false, 0, "")
	}
	s.SetX(margin)
}

func (s *sheets) heading(t string, level int) {
	s.need(16)
	s.Ln(aboveHeading)
	s.Bookmark(plain(t), level, -1)
	s.text(heading, "B", t)
	s.Ln(belowHeading)
}

const (
	aboveHeading = 3.0
	belowHeading = 1.0
	perPoint     = 0.52 // millimetres from line to line, by the type's size
)

// list sets a heading and the texts below it, a dash before each.
func (s *sheets) list(title string, texts []string) {
	s.heading(title, 0)
	for _, t := range texts {
		s.indented("–", t)
	}
}

// listHigh is how high a list stands whose heading takes one line.
func (s *sheets) listHigh(texts []string) float64 {
	s.SetFont("text", "", body)
	high := aboveHeading + heading*perPoint + belowHeading
	for _, t := range texts {
		high += float64(len(s.SplitText(plain(t), s.wide-hang))) * lineHigh
	}
	return high
}

// indented sets a paragraph behind a hanging number or dash, in the font that is set.
func (s *sheets) indented(mark, t string) {
	if mark == "–" {
		s.SetFont("text", "", body)
	}
	s.need(lineHigh)
	s.CellFormat(hang, lineHigh, plain(mark), "", 0, "L", false, 0, "")
	s.paragraph(s.wide-hang, lineHigh, t)
}

func (s *sheets) rule() {
	s.Ln(1.5)
	s.SetDrawColor(150, 150, 150)
	s.Line(margin, s.GetY(), margin+s.wide, s.GetY())
	s.SetDrawColor(0, 0, 0)
	s.Ln(2.5)
}

// need begins a new page where less than height is left on this one.
func (s *sheets) need(height float64) {
	if s.GetY()+height > s.high-margin-6 {
		s.AddPage()
	}
}

// cut shortens a text to the width that there is, in the font that is set.
func (s *sheets) cut(t string, width float64) string {
	if s.GetStringWidth(t) <= width {
		return t
	}
	r := []rune(t)
	for len(r) > 0 && s.GetStringWidth(string(r)+"…") > width {
		r = r[:len(r)-1]
	}
	return string(r) + "…"
}

// mostRunes of one text are set: a remark of ten thousand characters would fill
// pages that nobody reads.
const mostRunes = 2400

// plain makes text safe to set: line ends kept, turning marks left out, and what
// the font can't draw written as its number.
func plain(t string) string {
	var b strings.Builder
	n := 0
	for _, r := range t {
		if n++; n > mostRunes {
			b.WriteString(" …")
			break
		}
		switch {
		case r == '\n':
			b.WriteRune(r)
		case r == '\r' || r == '\u00ad' || unicode.Is(unicode.Cf, r):
		case r == '\t' || unicode.Is(unicode.Zs, r):
			b.WriteRune(' ')
		case unicode.IsControl(r) || r > 0xffff || !drawable(r):
			fmt.Fprintf(&b, "[U+%04X]", r)
		default:
			b.WriteRune(r)
		}
	}
	// The PDF writer would take its own mark for the number of pages out of a remark.
	return strings.ReplaceAll(b.String(), "{pages}", "{ pages }")
}

var face = sync.OnceValues(func() (*sfnt.Font, error) { return sfnt.Parse(dejavusans.TTF) })

func drawable(r rune) bool {
	f, err := face()
	if err != nil {
		return false
	}
	var buffer sfnt.Buffer
	at, err := f.GlyphIndex(&buffer, r)
	return err == nil && at != 0
}

func first(parts []string, between string) string { return plain(strings.Join(parts, between)) }

func (s *sheets) labelled(label, value string) string {
	if value == "" {
		return ""
	}
	return s.say(label) + s.say("page-colon") + " " + value
}

func dotted(t string) string {
	if t == "" {
		return ""
	}
	return " · " + t
}

func commaed(t string) string {
	if t == "" {
		return ""
	}
	return ", " + t
}

// together sets the texts there are beside each other, as many on a line as it holds.
func (s *sheets) together(parts ...string) []string {
	var lines []string
	for _, p := range slices.DeleteFunc(parts, func(p string) bool { return p == "" }) {
		if n := len(lines); n > 0 && s.GetStringWidth(plain(lines[n-1]+dotted(p))) < s.wide-hang-2 {
			lines[n-1] += dotted(p)
			continue
		}
		lines = append(lines, p)
	}
	return lines
}
