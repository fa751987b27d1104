package counter

import (
	"image"
	"image/color"
	"math"
	"strings"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/gomonobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/inconsolata"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"

	"pushcue/timeline/distance"
)

// A legend is what stands beside the digits: the unit of a length, or the sign of something
// that is no length.
type legend struct {
	unit  distance.Unit // "" where it is none that a counter counts in
	other string        // as it is written, where it belongs to no length
}

// legendWords are what may stand beside a number, and what each says of it. Which units
// recorders write, and which other numbers they show, is common practice, no published
// source. Words without a meaning are listed so that they aren't taken for others.
var legendWords = func() map[string]legend {
	all := map[string]legend{}
	add := func(says legend, words string) {
		for _, w := range strings.Fields(words) {
			all[w] = says
		}
	}
	add(legend{unit: distance.Metre}, "m M m: M: mt MT mtr MTR Mtr mts MTS")
	add(legend{unit: distance.Foot}, "ft FT Ft ft: FT: Ft: '")
	add(legend{}, `D D: L L: DIST: in cm mm " X N H W R S T -`)
	for _, w := range strings.Fields("% ° °C C °F F V A bar mbar psi km/h ppm rpm") {
		all[w] = legend{other: w}
	}
	return all
}()

const (
	fewestUnits    = 12   // strips that must show what stands beside the digits
	likelyLegend   = 0.62 // likeness from which a word is believed
	legendContrast = 0.04 // by which it must be likelier than any word that says something else
)

// The size in which words are compared, and how far above and below the digits it reaches,
// in digit heights: a word is told by where it stands between the lines, too.
const (
	legendW, legendH = 36, 26
	legendAbove      = 0.25
	legendBelow      = 0.35
)

// A legendShape is a word in that size, its mean taken away and its length 1.
type legendShape struct {
	values [legendW * legendH]float32
	aspect float64 // width of the ink by the digits' height
}

func (s *legendShape) likeness(t *legendShape) float64 {
	sum := float32(0)
	for i := range s.values {
		sum += s.values[i] * t.values[i]
	}
	return float64(sum) - 0.3*math.Abs(math.Log(s.aspect/t.aspect))
}

// legendShapeOf scales what stands between two columns of a picture, whose digits stand
// between top and bottom.
func legendShapeOf(img *image.Gray, left, right, top, bottom int) legendShape {
	tall := float64(bottom - top)
	s := legendShape{aspect: float64(right-left) / tall}
	at := func(x, y int) float64 {
		if !(image.Point{x, y}).In(img.Rect) {
			return 0
		}
		return float64(img.Pix[img.PixOffset(x, y)])
	}
	mean := float32(0)
	for y := range legendH {
		y0 := float64(top) - legendAbove*tall + float64(y)/legendH*tall*(1+legendAbove+legendBelow)
		y1 := y0 + tall*(1+legendAbove+legendBelow)/legendH
		for x := range legendW {
			x0 := float64(left) + float64(x)*float64(right-left)/legendW
			x1 := x0 + float64(right-left)/legendW
			s.values[y*legendW+x] = float32(areaMean(at, x0, y0, x1, y1))
			mean += s.values[y*legendW+x]
		}
	}
	mean /= legendW * legendH
	long := 0.0
	for i := range s.values {
		s.values[i] -= mean
		long += float64(s.values[i]) * float64(s.values[i])
	}
	for i := range s.values {
		s.values[i] /= float32(max(math.Sqrt(long), 1e-6))
	}
	return s
}

// areaMean is the mean of the pixels under a rectangle, each weighed by what of it is covered.
func areaMean(at func(x, y int) float64, x0, y0, x1, y1 float64) float64 {
	sum, weight := 0.0, 0.0
	for y := int(math.Floor(y0)); float64(y) < y1; y++ {
		wy := min(y1, float64(y+1)) - max(y0, float64(y))
		for x := int(math.Floor(x0)); float64(x) < x1; x++ {
			w := wy * (min(x1, float64(x+1)) - max(x0, float64(x)))
			sum, weight = sum+w*at(x, y), weight+w
		}
	}
	return sum / max(weight, 1e-9)
}

// legendShapes are the words in a few faces.
var legendShapes = sync.OnceValue(func() map[string][]legendShape {
	faces := []font.Face{inconsolata.Bold8x16}
	for _, ttf := range [][]byte{goregular.TTF, gobold.TTF, gomonobold.TTF} {
		parsed, err := opentype.Parse(ttf)
		if err != nil {
			continue // fonts of a library are whole
		}
		if face, err := opentype.NewFace(parsed, &opentype.FaceOptions{Size: 40, DPI: 72}); err == nil {
			faces = append(faces, face)
		}
	}
	all := map[string][]legendShape{}
	for word := range legendWords {
		for _, f := range faces {
			zero, img := drawnWord(f, "0"), drawnWord(f, word)
			digit, ink := inkOf(zero), inkOf(img)
			all[word] = append(all[word], legendShapeOf(img, ink.Min.X, ink.Max.X, digit.Min.Y, digit.Max.Y))
		}
	}
	return all
})

func drawnWord(f font.Face, word string) *image.Gray {
	img := image.NewGray(image.Rect(0, 0, 240, 80))
	d := font.Drawer{Dst: img, Src: image.NewUniform(color.White), Face: f, Dot: fixed.P(20, 55)}
	d.DrawString(word)
	return img
}

// A likeWord is how like a word the writing is, and how much more than to any word that says
// something else.
type likeWord struct {
	word     string
	how      float64
	contrast float64
}

func likeWordOf(seen *legendShape) likeWord {
	best := likeWord{how: -1}
	likes := map[legend]float64{}
	for word, shapes := range legendShapes() {
		says := legendWords[word].kind()
		for i := range shapes {
			how := seen.likeness(&shapes[i])
			likes[says] = max(likes[says], how)
			if how > best.how || how == best.how && word < best.word {
				best.word, best.how = word, how
			}
		}
	}
	best.contrast = math.Inf(1)
	for says, how := range likes {
		if says != legendWords[best.word].kind() {
			best.contrast = min(best.contrast, best.how-how)
		}
	}
	return best
}

// kind is the legend without its wording: which sign of no length it is doesn't matter.
func (l legend) kind() legend {
	if l.other != "" {
		l.other = "other"
	}
	return l
}

// legend is what is written behind the digits, or ahead of them where that says nothing.
// At one level or another the writing stands out from the pipe best; where it can't be
// made out at any, nothing is said: a wrong unit would be worse than none.
func (r *reader) legend(sh *sheet, sights []sight) legend {
	wide := int(6 * r.grid.pitch)
	first := math.Inf(1)
	for _, c := range r.centres {
		first = min(first, c)
	}
	behind := func(places []int) int {
		return int(math.Round(r.centres[places[len(places)-1]] + r.grid.pitch/2))
	}
	if l := r.wordBeside(sh, sights, wide, behind, false); l != (legend{}) {
		return l
	}
	return r.wordBeside(sh, sights, wide, func([]int) int { return int(math.Round(first-r.grid.pitch/2)) - wide }, true)
}

// wordBeside is what the word says that stands in a window of some width: its first word,
// or its last one.
func (r *reader) wordBeside(sh *sheet, sights []sight, wide int, from func(places []int) int, last bool) legend {
	best := likeWord{}
	for _, level := range r.levels {
		img, n := r.beside(sh, sights, level, wide, from)
		if n < fewestUnits {
			return legend{}
		}
		left, right, ok := r.word(img, last)
		if !ok {
			continue
		}
		shape := legendShapeOf(img, left, right, r.grid.top+2, r.grid.bottom-2)
		if like := likeWordOf(&shape); like.how > best.how {
			best = like
		}
	}
	if best.how < likelyLegend || best.contrast < legendContrast {
		return legend{}
	}
	return legendWords[best.word]
}

// word is between which columns a picture's first word stands, or its last one; false
// where none is near the digits.
func (r *reader) word(img *image.Gray, last bool) (left, right int, ok bool) {
	top, bottom, wide := r.grid.top+2, r.grid.bottom-2, img.Rect.Dx()
	gap, reach := max((bottom-top)*2/3, 3), int(1.9*r.grid.pitch) // letters are nearer than words
	inked := func(x int) bool {
		for y := max(top-(bottom-top)/4, 0); y < min(bottom+(bottom-top)/3, img.Rect.Dy()); y++ {
			if img.Pix[y*img.Stride+x] > 170 {
				return true
			}
		}
		return false
	}
	begin, end := -1, -1 // counted from the digits
	for k := range wide {
		x := k
		if last {
			x = wide - 1 - k
		}
		switch {
		case !inked(x):
			continue
		case begin < 0 && k > reach:
			return 0, 0, false
		case begin >= 0 && k-end > gap:
			continue
		case begin < 0:
			begin, end = k, k
		default:
			end = k
		}
	}
	if begin < 0 || end-begin < 1 {
		return 0, 0, false
	}
	if last {
		return wide - 1 - end, wide - begin, true
	}
	return begin, end + 1, true
}

// beside is how much of the strips has ink in a window, 255 for all, and of how many
// strips that was taken. What moves with the pipe doesn't stay.
func (r *reader) beside(sh *sheet, sights []sight, level cut, wide int, from func(places []int) int) (*image.Gray, int) {
	tall := r.bounds.Dy()
	sums, n := make([]int, wide*tall), 0
	const most = 120
	for i := range sights {
		s := &sights[i]
		if !s.sure() || n >= most {
			continue
		}
		start, img := from(r.layout[s.layout].places), sh.strips[i]
		for y := range tall {
			for x := max(0, -start); x < min(wide, r.bounds.Dx()-start); x++ {
				if (img.Pix[y*img.Stride+start+x] >= level.level) != level.dark {
					sums[y*wide+x]++
				}
			}
		}
		n++
	}
	out := image.NewGray(image.Rect(0, 0, wide, tall))
	for i, sum := range sums {
		out.Pix[i] = uint8(255 * sum / max(n, 1))
	}
	return out, n
}
