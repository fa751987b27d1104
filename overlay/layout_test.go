package overlay

import (
	"fmt"
	"image"
	"math"
	"strings"
	"testing"

	"pushcue/timeline"
	"pushcue/timeline/codes"
	"pushcue/timeline/jobsheet"
)

var sizes = []image.Point{
	{320, 240}, {640, 480}, {720, 405}, {768, 576}, {853, 480}, {1280, 720}, {1440, 1080},
	{1920, 1080}, {1080, 1920}, {720, 1280}, {2560, 1440}, {3840, 2160}, {2160, 3840}, {4096, 2160}, {1000, 999},
	{120, 90}, {90, 120}, {64, 400}, {400, 64}, {16, 16}, {1, 1}, {8000, 200},
}

// Every size, place of the strip and amount of words keeps the promises that
// players, eyes and courts rely on.
func TestLayoutKeepsItsPromises(t *testing.T) {
	for _, rate := range []int{25, 60, 120} {
		for _, strip := range []string{"above", "below", "over", "none"} {
			for _, show := range []string{"place", "place+label", "all"} {
				for _, size := range sizes {
					for _, notes := range []bool{false, true} {
						j := demo()
						j.frames, j.end = steady(4*rate, rate, 1)
						j.captions = jobsheet.Captions{Strip: strip, Show: show}
						l, _ := j.layout(t, size.X, size.Y, func(s *Spec) { s.Notes = notes })
						name := fmt.Sprintf("%v at %d, %s, %s, notes %v", size, rate, strip, show, notes)
						checkPromises(t, name, l, float64(rate))
					}
				}
			}
		}
	}
}

func checkPromises(t *testing.T, name string, l *Layout, rate float64) {
	t.Helper()
	whole := image.Rect(0, 0, l.Width, l.Height)
	if l.Width%2+l.Height%2 != 0 {
		t.Errorf("%s: %d×%d isn't even", name, l.Width, l.Height)
	}
	if level, ok := Level(l.Width, l.Height, rate); !ok || level != l.Level {
		t.Errorf("%s: %d×%d needs more than level %s", name, l.Width, l.Height, l.Level)
	}
	if !l.Picture.In(whole) || l.Picture.Empty() {
		t.Errorf("%s: picture %v isn't within %v", name, l.Picture, whole)
	}
	// The samples of colour stand two pixels apart: an odd place would shift them.
	if l.Picture.Min.X%2+l.Picture.Min.Y%2 != 0 {
		t.Errorf("%s: picture starts at odd %v", name, l.Picture.Min)
	}
	shorter := min(l.Picture.Dx(), l.Picture.Dy())
	if l.size.capital*28 < float64(shorter) {
		t.Errorf("%s: capitals of %.1f for a picture of %d", name, l.size.capital, shorter)
	}
	for _, b := range []Block{l.Place, l.Notes} {
		if b.Rows == 0 {
			continue
		}
		over := l.spec.Captions.Strip == "over"
		if !over && (!b.Ground.In(whole) || b.Ground.Overlaps(l.Picture)) {
			t.Errorf("%s: strip %v isn't beside the picture %v", name, b.Ground, l.Picture)
		}
		if b.Rows > 3 {
			t.Errorf("%s: %d rows", name, b.Rows)
		}
		// EBU R 95, 5 % of each side (see overlay.go on the number).
		if side := float64(l.Width) * 0.05; !over && (float64(b.Text.Min.X) < side || float64(l.Width-b.Text.Max.X) < side) {
			t.Errorf("%s: text %v leaves the safe area", name, b.Text)
		}
	}
	if rows := l.Place.Rows; (rows == 0) != (l.spec.Captions.Strip == "none") {
		t.Errorf("%s: %d rows", name, rows)
	}
}

func TestPictureKeepsItsSizeWhereItFits(t *testing.T) {
	for _, size := range []image.Point{{320, 240}, {768, 576}, {1280, 720}, {853, 480}, {640, 479}} {
		l, _ := demo().layout(t, size.X, size.Y, withNotes)
		if l.Picture.Size() != size {
			t.Errorf("%v became %v", size, l.Picture.Size())
		}
	}
	l, _ := demo().layout(t, 3840, 2160, asStill)
	if l.Picture.Size() != image.Pt(3840, 2160) {
		t.Errorf("a still became %v", l.Picture.Size())
	}
}

// A picture that has to be scaled keeps its shape to within the pixel that even
// sides cost.
func TestScaledPictureKeepsItsShape(t *testing.T) {
	for _, size := range []image.Point{{1920, 1080}, {3840, 2160}, {1080, 1920}, {4096, 2160}} {
		l, _ := demo().layout(t, size.X, size.Y)
		want := float64(size.Y) / float64(size.X) * float64(l.Picture.Dx())
		if math.Abs(want-float64(l.Picture.Dy())) > 1 {
			t.Errorf("%v became %v", size, l.Picture.Size())
		}
		if Macroblocks(l.Width, l.Height) < MostMacroblocks*97/100 {
			t.Errorf("%v became %d×%d, smaller than it had to", size, l.Width, l.Height)
		}
	}
}

func TestOverKeepsClear(t *testing.T) {
	for _, size := range []image.Point{{320, 240}, {768, 576}, {1280, 720}, {1080, 1920}} {
		w, h := size.X, size.Y
		for name, burned := range map[string][]image.Rectangle{
			"nothing":          nil,
			"top left":         {image.Rect(0, 0, w/3, h/8)},
			"top":              {image.Rect(0, 0, w, h/5)},
			"both ends":        {image.Rect(0, 0, w, h/6), image.Rect(0, h*5/6, w, h)},
			"all but the foot": {image.Rect(0, 0, w, h*6/10)},
		} {
			j := demo()
			j.captions.Strip = "over"
			l, ws := j.layout(t, w, h, func(s *Spec) { s.Clear = burned })
			for _, r := range burned {
				if l.Place.Ground.Overlaps(r) {
					t.Errorf("%v, %s: %v lies on %v", size, name, l.Place.Ground, r)
				}
			}
			if !l.Place.Ground.In(l.safeArea()) {
				t.Errorf("%v, %s: %v leaves the safe area %v", size, name, l.Place.Ground, l.safeArea())
			}
			if len(ws) > 0 {
				t.Errorf("%v, %s: %v", size, name, ws)
			}
		}
	}
}

func TestOverSaysWhatItHides(t *testing.T) {
	j := demo()
	j.captions.Strip = "over"
	l, ws := j.layout(t, 640, 480, func(s *Spec) { s.Clear = []image.Rectangle{image.Rect(0, 0, 640, 480)} })
	if l.Place.Rows == 0 || !hasWarning(ws, "caption-over-counter") {
		t.Errorf("rows %d, warnings %v", l.Place.Rows, ws)
	}
}

func TestLongTextIsCutAndSaidSo(t *testing.T) {
	j := demo()
	j.notes = []string{strings.Repeat("roots ", 2000), strings.Repeat("x", 10_000), "short"}
	j.line.Name = strings.Repeat("lateral ", 1500)
	l, ws := j.layout(t, 1280, 720, withNotes)
	if got := l.set.line[len(l.set.line)-1]; !strings.HasSuffix(got, "… more on the page") {
		t.Errorf("the line's name ends in %q", got)
	}
	for i, m := range l.texts.marks {
		lines, cut := l.size.wrap(m.note, float64(l.Notes.Text.Dx()), l.Notes.Rows, l.more)
		if want := i != 2; cut != want || want != strings.HasSuffix(lines[len(lines)-1], "… more on the page") {
			t.Errorf("note %d: cut %v, ends in %q", i+1, cut, lines[len(lines)-1])
		}
		for _, line := range lines {
			if w := l.size.wide(line); w > float64(l.Notes.Text.Dx()) {
				t.Errorf("note %d: a row of %.0f pixels for %d", i+1, w, l.Notes.Text.Dx())
			}
		}
	}
	rows := map[int]bool{}
	for _, w := range ws {
		rows[w.Row] = w.Code == "caption-cut"
	}
	if !rows[0] || !rows[1] || !rows[2] || rows[3] {
		t.Errorf("warnings: %v", ws)
	}
}

func TestMissingCharactersAreNamedOnce(t *testing.T) {
	j := demo()
	j.notes = []string{"漢 and 漢", "नमस्ते"}
	_, ws := j.layout(t, 640, 480, withNotes)
	var texts []string
	for _, w := range ws {
		if w.Code == "caption-glyph" {
			texts = append(texts, w.Text.String())
		}
	}
	if len(texts) != 1 || strings.Count(texts[0], "U+6F22") != 1 || !strings.Contains(texts[0], "U+0928") {
		t.Errorf("%q", texts)
	}
}

func hasWarning(ws []timeline.Warning, code codes.Code) bool {
	for _, w := range ws {
		if w.Code == code {
			return true
		}
	}
	return false
}
