package subtitles

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode"

	"github.com/go-fonts/dejavu/dejavusans"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// The picture that lines are drawn on, one a second.
const (
	assWidth, assHeight = 900, 120
	assSize             = 24.0
	assLeft, assTop     = 20, 40
)

// drawLines has libass draw each line on a picture of its own, through ffmpeg, and
// returns the pictures' luma.
func drawLines(t testing.TB, lines []string) [][]byte {
	t.Helper()
	need(t, "ffmpeg", "install ffmpeg with libass")
	dir := t.TempDir()
	script := Script{
		Width: assWidth, Height: assHeight,
		Styles: []Style{{Name: "Text", Font: "DejaVu Sans", Size: assSize, Ink: Colour{255, 255, 255}, Corner: 7}},
		Events: func(yield func(Event) bool) {
			for i, s := range lines {
				e := Event{From: int64(i) * 100, To: int64(i)*100 + 100, Style: "Text", Tags: fmt.Sprintf(`\pos(%d,%d)`, assLeft, assTop), Lines: []string{s}}
				if !yield(e) {
					return
				}
			}
		},
	}
	var b bytes.Buffer
	if err := WriteASS(&b, script); err != nil {
		t.Fatal(err)
	}
	for name, data := range map[string][]byte{"lines.ass": b.Bytes(), "font.ttf": dejavusans.TTF} {
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	cmd := exec.Command("ffmpeg", "-nostdin", "-v", "error", "-f", "lavfi",
		"-i", fmt.Sprintf("color=c=black:s=%dx%d:r=1:d=%d", assWidth, assHeight, len(lines)),
		"-vf", "ass=lines.ass:fontsdir=.,format=gray", "-f", "rawvideo", "-")
	cmd.Dir = dir
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil || len(out) != len(lines)*assWidth*assHeight {
		t.Fatalf("%v: %d bytes for %d lines\n%s", err, len(out), len(lines), stderr.String())
	}
	return slices.Collect(slices.Chunk(out, assWidth*assHeight))
}

// ink is the box of what was drawn.
func ink(picture []byte) (left, top, right, bottom int) {
	left, top, right, bottom = assWidth, assHeight, -1, -1
	for i, v := range picture {
		if v > 60 {
			x, y := i%assWidth, i/assWidth
			left, top, right, bottom = min(left, x), min(top, y), max(right, x), max(bottom, y)
		}
	}
	return left, top, right, bottom
}

// advances is how far the font's own tables say that a line reaches, in pixels;
// false where the font lacks a letter.
func advances(t testing.TB, s string) (float64, bool) {
	t.Helper()
	f, err := sfnt.Parse(dejavusans.TTF)
	if err != nil {
		t.Fatal(err)
	}
	// A script's font size is the height of a line, ascent and descent together.
	em := fixed.Int26_6(f.UnitsPerEm())
	var buf sfnt.Buffer
	m, err := f.Metrics(&buf, em, font.HintingNone)
	if err != nil {
		t.Fatal(err)
	}
	sum, last := fixed.Int26_6(0), sfnt.GlyphIndex(0)
	for _, r := range strings.TrimRight(s, " \u2060\u200f") {
		if r == '\u2060' || r == '\u200f' {
			continue // shows nothing
		}
		if unicode.Is(unicode.Mn, r) {
			return 0, false // stands over its letter, above the line if there are many
		}
		g, err := f.GlyphIndex(&buf, r)
		if err != nil || g == 0 {
			return 0, false
		}
		a, err := f.GlyphAdvance(&buf, g, em, font.HintingNone)
		if err != nil {
			t.Fatal(err)
		}
		if k, err := f.Kern(&buf, last, g, em, font.HintingNone); err == nil && last != 0 {
			sum += k
		}
		sum, last = sum+a, g
	}
	return float64(sum) / float64(m.Ascent+m.Descent) * assSize, true
}

// Every letter is drawn, on its line and nowhere else: the ink reaches as far as the
// font's tables say that the text as written does.
func TestASSTextActsAsNothingInLibass(t *testing.T) {
	var lines []string
	for _, c := range all(t, hostileLine()) {
		for _, s := range c.Lines {
			if _, known := advances(t, s); known && !slices.Contains(lines, s) {
				lines = append(lines, s)
			}
		}
	}
	if len(lines) < 50 {
		t.Fatalf("only %d lines to draw", len(lines))
	}
	for i, picture := range drawLines(t, lines) {
		checkInk(t, lines[i], picture)
	}
}

func checkInk(t testing.TB, line string, picture []byte) {
	t.Helper()
	want, _ := advances(t, line)
	left, top, right, bottom := ink(picture)
	if left < assLeft-2 || left > assLeft+6 || top < assTop-2 || bottom > assTop+assSize+2 {
		t.Errorf("%q is drawn at %d,%d-%d,%d", line, left, top, right, bottom)
	}
	if got := float64(right - assLeft); got < want-5 || got > want+6 {
		t.Errorf("%q reaches %.0f pixels, want %.0f", line, got, want)
	}
}

func TestASSAsWritten(t *testing.T) {
	var b bytes.Buffer
	err := WriteASS(&b, Script{Width: 320, Height: 240,
		Styles: []Style{{Name: "Text", Font: "DejaVu Sans", Size: 14.5, Ink: Colour{1, 2, 3}, Bold: true, Outline: 1.5, Corner: 7}},
		Events: slices.Values([]Event{
			{From: 360_000 + 123, To: 360_200, Style: "Text", Tags: `\an7`, Lines: []string{"a,{b}", `c\d`}},
			{Layer: 1, To: 4, Style: "Text", Drawing: "m 0 0 l 9 9"},
		})})
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		"PlayResX: 320\nPlayResY: 240\nWrapStyle: 2\nScaledBorderAndShadow: yes\nYCbCr Matrix: None\n",
		"Style: Text,DejaVu Sans,14.500,&H00030201,&H00030201,&H00000000,&H00000000,-1,0,0,0,100,100,0,0,1,1.5,0,7,0,0,0,1\n",
		"Dialogue: 0,1:00:01.23,1:00:02.00,Text,,0,0,0,,{\\an7}a,\\{b\\}\\Nc\\\u2060d\n",
		"Dialogue: 1,0:00:00.00,0:00:00.04,Text,,0,0,0,,{\\p1}m 0 0 l 9 9\n",
	} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("%q isn't in\n%s", want, b.String())
		}
	}
	format := strings.Count("Name, Fontname, Fontsize, PrimaryColour, SecondaryColour, OutlineColour, BackColour, Bold, Italic, Underline, StrikeOut, ScaleX, ScaleY, Spacing, Angle, BorderStyle, Outline, Shadow, Alignment, MarginL, MarginR, MarginV, Encoding", ",")
	for _, row := range strings.Split(b.String(), "\n") {
		if strings.HasPrefix(row, "Style:") && strings.Count(row, ",") != format {
			t.Errorf("fields are missing: %s", row)
		}
	}
}

// The question is put to libass itself: does any text act?
func FuzzASSTextInLibass(f *testing.F) {
	for _, s := range []string{`{\an8}a\Nb`, `\{x\}`, "a\n{b"} { // the others are drawn in one run above
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, p := range paginate(pieces(s)) {
			for _, line := range p.lines[:1] {
				if _, known := advances(t, line); known && wordCount(line) > 0 {
					checkInk(t, line, drawLines(t, []string{line})[0])
				}
			}
			break
		}
	})
}
