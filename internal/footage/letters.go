package footage

import (
	"fmt"
	"image"
	"math"

	"github.com/go-fonts/dejavu/dejavusans"
	"github.com/go-fonts/dejavu/dejavusansbold"
	"github.com/go-fonts/dejavu/dejavusanscondensedbold"
	"github.com/go-fonts/dejavu/dejavusansmono"
	"github.com/go-fonts/dejavu/dejavusansmonobold"
	"github.com/go-fonts/dejavu/dejavuserif"
	"github.com/go-fonts/dejavu/dejavuserifbold"
	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/gobolditalic"
	"golang.org/x/image/font/gofont/gomedium"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
)

// A letter is one sign's coverage, 0 to 255, with room around it for an edge.
type letter struct {
	width, height, advance int
	fill, edge             []uint8
}

const room = 3 // pixels around a letter

var fonts = map[string][]byte{
	"mono":       dejavusansmono.TTF,
	"mono-bold":  dejavusansmonobold.TTF,
	"sans":       dejavusans.TTF,
	"sans-bold":  dejavusansbold.TTF,
	"medium":     gomedium.TTF,
	"typewriter": gomono.TTF,
	"serif":      dejavuserif.TTF,
	"serif-bold": dejavuserifbold.TTF,
	"condensed":  dejavusanscondensedbold.TTF,
	"bold":       gobold.TTF,
	"slanted":    gobolditalic.TTF,
	"plain":      goregular.TTF,
}

const signs = "0123456789.,-+:/ mftMFT%°CVbarkhpsDISLTRE'"

// letters draws every sign of a look for a picture of the given height.
func letters(look Look, height int) (map[rune]*letter, error) {
	tall := max(7, int(math.Round(float64(look.Height)*float64(height)/480)))
	all := map[rune]*letter{}
	var face font.Face
	if look.Face != "dots" && look.Face != "segments" {
		data, ok := fonts[look.Face]
		if !ok {
			return nil, fmt.Errorf("look %q: no face %q", look.Name, look.Face)
		}
		parsed, err := opentype.Parse(data)
		if err != nil {
			return nil, err
		}
		// A digit of these faces is about 0.73 of their size.
		face, err = opentype.NewFace(parsed, &opentype.FaceOptions{Size: float64(tall) / 0.73, DPI: 72, Hinting: font.HintingFull})
		if err != nil {
			return nil, err
		}
	}
	for _, r := range signs {
		var l *letter
		switch {
		case look.Face == "dots":
			l = dotted(r, tall)
		case look.Face == "segments":
			l = segmented(r, tall)
		default:
			l = outlined(face, r, tall)
		}
		if look.Proportional && r != ' ' {
			l = l.fitted(max(2, tall/8))
		}
		l.edged()
		all[r] = l
	}
	return all, nil
}

func blank(width, tall int) *letter {
	l := &letter{width: width + 2*room, height: tall + 2*room + tall/4, advance: width}
	l.fill = make([]uint8, l.width*l.height)
	return l
}

func outlined(face font.Face, r rune, tall int) *letter {
	advance, _ := face.GlyphAdvance(r)
	l := blank(advance.Ceil(), tall)
	img := &image.Alpha{Pix: l.fill, Stride: l.width, Rect: image.Rect(0, 0, l.width, l.height)}
	d := font.Drawer{Dst: img, Src: image.Opaque, Face: face, Dot: fixed.P(room, room+tall)}
	d.DrawString(string(r))
	return l
}

// fitted is the letter with no more room beside its ink than gap.
func (l *letter) fitted(gap int) *letter {
	first, last := l.width, -1
	for i, v := range l.fill {
		if v > 0 {
			first, last = min(first, i%l.width), max(last, i%l.width)
		}
	}
	if last < 0 {
		return l
	}
	wide := last - first + 1
	f := &letter{width: wide + 2*room, height: l.height, advance: wide + gap}
	f.fill = make([]uint8, f.width*f.height)
	for y := range l.height {
		copy(f.fill[y*f.width+room:y*f.width+room+wide], l.fill[y*l.width+first:y*l.width+last+1])
	}
	return f
}

// dotRows are signs on a grid of 5 by 7, a bit a dot, the top row first.
var dotRows = map[rune][7]uint8{
	'0': {14, 17, 19, 21, 25, 17, 14}, '1': {4, 12, 4, 4, 4, 4, 14}, '2': {14, 17, 1, 2, 4, 8, 31},
	'3': {31, 2, 4, 2, 1, 17, 14}, '4': {2, 6, 10, 18, 31, 2, 2}, '5': {31, 16, 30, 1, 1, 17, 14},
	'6': {6, 8, 16, 30, 17, 17, 14}, '7': {31, 1, 2, 4, 8, 8, 8}, '8': {14, 17, 17, 14, 17, 17, 14},
	'9': {14, 17, 17, 15, 1, 2, 12}, '.': {0, 0, 0, 0, 0, 12, 12}, ',': {0, 0, 0, 0, 12, 4, 8},
	'-': {0, 0, 0, 31, 0, 0, 0}, '+': {0, 4, 4, 31, 4, 4, 0}, ':': {0, 12, 12, 0, 12, 12, 0},
	'/': {0, 1, 2, 4, 8, 16, 0}, 'm': {0, 0, 26, 21, 21, 17, 17}, 'f': {6, 9, 8, 28, 8, 8, 8},
	't': {8, 8, 28, 8, 8, 9, 6}, 'M': {17, 27, 21, 21, 17, 17, 17}, 'F': {31, 16, 16, 30, 16, 16, 16},
	'T': {31, 4, 4, 4, 4, 4, 4},
}

func dotted(r rune, tall int) *letter {
	dot := max(1, tall/7)
	l := blank(6*dot, 7*dot)
	for row, line := range dotRows[r] {
		for col := range 5 {
			if line>>(4-col)&1 == 1 {
				l.rect(col*dot, row*dot, dot, dot)
			}
		}
	}
	return l
}

// segmentsOf names the lit bars: top, upper right, lower right, foot, lower left,
// upper left, middle.
var segmentsOf = map[rune]string{
	'0': "abcdef", '1': "bc", '2': "abged", '3': "abgcd", '4': "fgbc", '5': "afgcd", '6': "afgedc",
	'7': "abc", '8': "abcdefg", '9': "abfgcd", '-': "g", '.': ".", ',': ".", ':': ":",
}

func segmented(r rune, tall int) *letter {
	thick := max(2, tall/8)
	wide, half := tall*11/20, tall/2
	bars := map[rune][4]int{
		'a': {thick, 0, wide - 2*thick, thick}, 'd': {thick, tall - thick, wide - 2*thick, thick},
		'g': {thick, half - thick/2, wide - 2*thick, thick},
		'b': {wide - thick, thick / 2, thick, half - thick}, 'c': {wide - thick, half + thick/2, thick, half - thick},
		'f': {0, thick / 2, thick, half - thick}, 'e': {0, half + thick/2, thick, half - thick},
		'.': {0, tall - thick, thick, thick}, ':': {0, half - 2*thick, thick, thick},
	}
	advance := wide + 2*thick
	if r == '.' || r == ',' || r == ':' {
		advance = 3 * thick
	}
	l := blank(advance, tall)
	for _, name := range segmentsOf[r] {
		b := bars[name]
		l.rect(b[0], b[1], b[2], b[3])
	}
	return l
}

func (l *letter) rect(x, y, w, h int) {
	for py := y + room; py < y+h+room; py++ {
		for px := x + room; px < x+w+room; px++ {
			l.fill[py*l.width+px] = 255
		}
	}
}

// edged grows the fill by about a twelfth of the letter, for an outline.
func (l *letter) edged() {
	grow := min(room, max(1, l.height/14))
	l.edge = make([]uint8, len(l.fill))
	for y := range l.height {
		for x := range l.width {
			for dy := -grow; dy <= grow; dy++ {
				for dx := -grow; dx <= grow; dx++ {
					px, py := x+dx, y+dy
					if px >= 0 && py >= 0 && px < l.width && py < l.height && dx*dx+dy*dy <= grow*grow+1 {
						l.edge[y*l.width+x] = max(l.edge[y*l.width+x], l.fill[py*l.width+px])
					}
				}
			}
		}
	}
}
