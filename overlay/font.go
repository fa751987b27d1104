package overlay

import (
	"sync"

	"github.com/go-fonts/dejavu/dejavusans"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// FontName is the family name of the font that captions are set in.
const FontName = "DejaVu Sans"

// FontFile returns the font's file, DejaVuSans.ttf, to be put into a folder of
// its own for the burn (see Burn.Fonts). Its licence lets it be handed on with
// the program; the text of it is in the module github.com/go-fonts/dejavu.
func FontFile() []byte { return dejavusans.TTF }

// The font's own measures, in its units (its tables head, hhea and OS/2).
const (
	unitsPerEm = 2048
	unitsUp    = 1901 // from the baseline to the top of a line
	unitsDown  = 483  // from the baseline to its foot
	unitsCap   = 1493 // height of capitals
)

// parsed is the font as golang.org/x/image reads it. It is part of the program,
// so a broken one is a programming mistake.
var parsed = sync.OnceValue(func() *sfnt.Font {
	f, err := sfnt.Parse(dejavusans.TTF)
	if err != nil {
		panic(err)
	}
	return f
})

// advances remembers how wide characters are: a recording's captions ask for the
// same few again and again.
var advances = struct {
	sync.Mutex
	of map[rune]int
}{of: map[rune]int{}}

// advance is how far r moves the pen in the font's units; false when the font
// has no glyph for it.
func advance(r rune) (int, bool) {
	advances.Lock()
	defer advances.Unlock()
	a, known := advances.of[r]
	if !known {
		a = lookUp(r)
		advances.of[r] = a
	}
	return a, a >= 0
}

func lookUp(r rune) int {
	var b sfnt.Buffer
	i, err := parsed().GlyphIndex(&b, r)
	if err != nil || i == 0 {
		return -1
	}
	a, err := parsed().GlyphAdvance(&b, i, fixed.I(unitsPerEm), font.HintingNone)
	if err != nil {
		return -1
	}
	return a.Round()
}

// units is how wide s is in the font's units.
func units(s string) int {
	n := 0
	for _, r := range shape(s) {
		if a, ok := advance(r); ok {
			n += a
		}
	}
	return n
}

// A size is how large text is set.
type size struct {
	capital float64 // height of capitals in pixels
}

func (s size) em() float64     { return s.capital * unitsPerEm / unitsCap }
func (s size) line() float64   { return s.capital * (unitsUp + unitsDown) / unitsCap }
func (s size) rise() float64   { return s.capital * unitsUp / unitsCap } // top of a line to its baseline
func (s size) gap() float64    { return s.capital * 1.6 }                // between two texts in a row
func (s size) margin() float64 { return s.capital * 0.45 }               // above and below the rows of a block

// wide is how many pixels text takes.
func (s size) wide(text string) float64 { return s.pixels(units(text)) }

// pixels turns the font's units into pixels. A hundredth is added, since each
// renderer rounds a glyph's place in its own way.
func (s size) pixels(units int) float64 { return float64(units) * s.em() / unitsPerEm * 1.01 }
