package overlay

import (
	"fmt"
	"image"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"pushcue/internal/soak"
)

func TestClean(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"plain", "roots at 12.4 m", "roots at 12.4 m"},
		{"blanks and line ends", " a\tb\r\n\r\nc\u2028d\u3000 ", "a b c d"},
		{"a blank that holds together", "12\u00a0m", "12\u00a0m"},
		{"composed", "e\u0301", "é"},
		{"not UTF-8", "a\xffb", "a\ufffdb"},
		{"control characters", "a\x00\x1bb", "a[U+0000][U+001B]b"},
		{"turned text", "a\u202eb\u2066c", "a[U+202E]b[U+2066]c"},
		{"direction marks", "\u200eא\u200f", "\u200eא\u200f"},
		{"no glyph", "水", "[U+6C34]"},
		{"beyond the first plane", "\U0001f6b0", "[U+1F6B0]"},
		{"drawing hints", "⚠\ufe0f\u00adx\u200b\ufeff", "⚠x"},
		{"heap of marks", "z" + strings.Repeat("\u0335", 6), "z" + strings.Repeat("\u0335", 4) + "[U+0335][U+0335]"},
		{"only blanks", " \n ", ""},
	} {
		if got, _ := clean(c.in); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// Letter forms as the Unicode Standard names them (chapter on Arabic, block
// Arabic Presentation Forms-B).
func TestShape(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"latin", "roots", "roots"},
		{"one letter alone", "ب", "\ufe8f"},
		{"initial, medial, final", "ببب", "\ufe91\ufe92\ufe90"},
		{"alef joins only the letter before", "باب", "\ufe91\ufe8e\ufe8f"},
		{"lam and alef are one sign", "لا", "\ufefb"},
		{"and one that joins", "سلام", "\ufeb3\ufefc\ufee1"},
		{"marks don't part letters", "ب\u064eب", "\ufe91\u064e\ufe90"},
		{"a blank does", "ب ب", "\ufe8f \ufe8f"},
	} {
		if got := shape(c.in); got != c.want {
			t.Errorf("%s: %+q, want %+q", c.name, got, c.want)
		}
	}
}

// Orders by Unicode Standard Annex 9, worked out by hand for a line that runs left
// to right; capitals stand for Hebrew letters there and here.
func TestVisual(t *testing.T) {
	hebrew := func(s string) string {
		return strings.Map(func(r rune) rune {
			if r >= 'A' && r <= 'V' {
				return 'א' + r - 'A'
			}
			return r
		}, s)
	}
	for _, c := range []struct{ name, in, want string }{
		{"left to right", "car means auto.", "car means auto."},
		{"one word", "car means CAR.", "car means RAC."},
		{"several words", "<ABC DEF> x", "<FED CBA> x"},
		{"a number keeps its order", "ABC 12.5 DEF", "FED 12.5 CBA"},
		{"a number after", "ABC 12.5 m", "12.5 CBA m"},
		{"a number before", "12.5 ABC", "12.5 CBA"},
		{"brackets within", "A(B)C", "C(B)A"},
		{"a mark stays on its letter", "A\u05b8B", "BA\u05b8"},
	} {
		if got := visual(hebrew(c.in)); got != hebrew(c.want) {
			t.Errorf("%s: %q, want %q", c.name, got, hebrew(c.want))
		}
	}
}

func TestWrap(t *testing.T) {
	s := size{capital: 20}
	em := s.wide("m")
	for _, c := range []struct {
		name, in string
		wide     float64
		rows     int
		want     []string
		cut      bool
	}{
		{"empty", "", 10 * em, 3, nil, false},
		{"fits", "mmm mm", 10 * em, 3, []string{"mmm mm"}, false},
		{"two rows", "mmm mmm", 5 * em, 3, []string{"mmm", "mmm"}, false},
		{"a long word", "mmmmmmm", 3 * em, 3, []string{"mmm", "mmm", "m"}, false},
		{"cut", "mmm mmm mmm mmm mmm", 5 * em, 2, []string{"mmm", "mmm …"}, true},
		{"cut within a word", "mmmmmmmmmmmmmmmm", 5 * em, 2, []string{"mmmmm", "mmm …"}, true},
		{"narrower than a letter", "mmm", em / 2, 3, []string{"m", "m", "m"}, false},
	} {
		got, cut := s.wrap(c.in, c.wide, c.rows, "…")
		if strings.Join(got, "|") != strings.Join(c.want, "|") || cut != c.cut {
			t.Errorf("%s: %q, %v; want %q, %v", c.name, got, cut, c.want, c.cut)
		}
	}
}

func FuzzWrap(f *testing.F) {
	f.Add("fine roots at the joint", 200.0, 3)
	f.Add(strings.Repeat("x", 3000), 90.0, 2)
	f.Add("שלום سلام é\u0301", 50.0, 1)
	f.Fuzz(func(t *testing.T, in string, wide float64, rows int) {
		if !(wide >= 60 && wide < 5000) || rows < 1 || rows > 5 {
			t.Skip()
		}
		s := size{capital: 20}
		text, _ := clean(in)
		lines, cut := s.wrap(text, wide, rows, "…")
		if len(lines) > rows {
			t.Fatalf("%d rows", len(lines))
		}
		for _, line := range lines {
			if !utf8.ValidString(line) {
				t.Fatalf("%q was broken within a character", line)
			}
			if s.wide(line) > wide && utf8.RuneCountInString(line) > 12 {
				t.Fatalf("%q takes %.1f of %.1f", line, s.wide(line), wide)
			}
		}
		if all := strings.Join(lines, " "); !cut && strings.ReplaceAll(all, " ", "") != strings.ReplaceAll(text, " ", "") {
			t.Fatalf("%q became %q", text, all)
		}
	})
}

// hostile is text that would act as code somewhere, and text hard to draw.
var hostile = []string{
	`{\b1}x{\c&H0000FF&}`, `{\an2\pos(0,0)}x`, `{\p1}m 0 0 l 500 0 500 500{\p0}`, `{\t(0,100,\fscx300)}x`, `{\fnOther\fs90}x`,
	`x\Nx`, `x\nx\hx`, `{`, `}`, `{}`, `\`, `\\`, `\{`, `\{\b1\}`, `{unclosed`, `unopened}`, `{{}}`, `{\clip(0,0,1,1)}x`,
	`<b>x</b> <i>`, `-->`, `00:00:01,000 --> 00:00:02,000`, `%{pts}`, `%%`, `=1+1`, `'`, `"`, `a:b`, `a,b;c`, `[x]`, "a\r\nb\n\nc",
	`Dialogue: 0,0:00:00.00,9:00:00.00,Text,,0,0,0,,x`, "[Events]", "; comment", "!: x", `&amp; &lt; &#65;`,
}

// What libass draws is what was written: Go's own drawing of the same words, which
// knows no code, has its ink in the same places.
func TestHostileTextIsShownAsWritten(t *testing.T) { compareDrawings(t, hostile...) }

// A run of ffmpeg for each text is slow, so here are many in one.
func TestMixedTextIsShownAsWritten(t *testing.T) {
	pieces := []string{`{`, `}`, `\`, `\N`, `\n`, `\h`, `\b1`, `\pos(9,9)`, `\p1`, `\c&HFF&`, `\r`, `*`, `!`, `,`, `;`, `:`,
		" ", "\n", "\t", "\x00", "a", "H", "é", "е", "ω", "12.5", "&", "<", ">", "%", "'", `"`, "\u2060", "\u200b", "水", "\u202e"}
	random := rand.New(rand.NewPCG(3, 4))
	texts := make([]string, soak.Count(60, 600))
	for i := range texts {
		for range 1 + random.IntN(12) {
			texts[i] += pieces[random.IntN(len(pieces))]
		}
	}
	for some := range slices.Chunk(texts, 60) {
		compareDrawings(t, some...)
	}
}

func FuzzTextInLibass(f *testing.F) {
	f.Add(hostile[0], hostile[1])
	f.Add("Größe 12½ м Ωμ", "שלום 12 (سلام)\u202ex😀")
	f.Fuzz(func(t *testing.T, a, b string) { compareDrawings(t, a, b) })
}

// compareDrawings burns each text as what was seen, a frame each, and draws the
// same captions as stills.
func compareDrawings(t *testing.T, texts ...string) {
	j := demo()
	j.captions.Show = "place+label"
	j.frames, j.end = steady(len(texts)+1, 1, 2) // a frame every two seconds
	j.notes, j.seen = nil, texts
	l, _ := j.layout(t, 640, 240)
	frames := make([]int, len(texts))
	for i := range frames {
		frames[i] = i + 1
	}
	source := fmt.Sprintf("color=c=gray:s=640x240:r=1/2:d=%d,format=yuv420p", 2*len(texts)+2)
	for i, video := range burn(t, l, l.PlaceScript(0, j.end), source, frames...) {
		checkNothingElse(t, texts[i], l, video)
		if !isPlain(l, texts[i]) {
			continue // marks, and letters in several shapes, are placed otherwise by each
		}
		still := l.CaptionStill(image.NewUniform(video.At(320, l.Height-1)), i+1, &l.teller.t.Observations[i])
		for row := range l.Place.Rows {
			v, s := inkIn(l, video, row), inkIn(l, still, row)
			if math.Abs(v.left-s.left) > 2 || math.Abs(v.right-s.right) > 2+s.right/100 || math.Abs(v.mass/s.mass-1) > 0.1+4/s.mass {
				t.Errorf("%q, row %d: libass drew %.0f…%.0f with %.0f of ink, as written it is %.0f…%.0f with %.0f",
					texts[i], row, v.left, v.right, v.mass, s.left, s.right, s.mass)
			}
		}
	}
}

// isPlain: letters that every renderer sets side by side.
func isPlain(l *Layout, text string) bool {
	shown, _ := clean(text)
	for _, r := range shown {
		if isMark(r) || r >= 0x0530 && r != 0xfffd || r == 0xa0 {
			return false
		}
	}
	return true
}

// checkNothingElse: no colour, and no ink outside the strip.
func checkNothingElse(t *testing.T, text string, l *Layout, img *image.NRGBA) {
	t.Helper()
	beside := img.NRGBAAt(l.Picture.Min.X, l.Picture.Max.Y-1)
	for y := range l.Height {
		for x := range l.Width {
			c := img.NRGBAAt(x, y)
			if image.Pt(x, y).In(l.Picture) && c != beside {
				t.Fatalf("%q: drew on the picture at %d,%d", text, x, y)
			}
			if d := max(c.R, c.G, c.B) - min(c.R, c.G, c.B); d > 2 {
				t.Fatalf("%q: colour %v at %d,%d", text, c, x, y)
			}
		}
	}
}

type inkArea struct{ left, right, mass float64 }

// inkIn measures what is drawn in a row of the strip.
func inkIn(l *Layout, img image.Image, row int) inkArea {
	base := int(l.baseline(l.Place, row))
	a := inkArea{left: math.Inf(1), right: math.Inf(-1), mass: 1}
	for y := base - int(l.size.capital); y <= base; y++ {
		for x := range l.Width {
			r, _, _, _ := img.At(x, y).RGBA()
			if v := float64(r>>8) - groundLevel; v > 60 {
				a.left, a.right = min(a.left, float64(x)), max(a.right, float64(x))
				a.mass += v / 255
			}
		}
	}
	return a
}
