package overlay

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"math"
	"slices"
	"testing"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/internal/soak"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
)

// paced is a gray picture whose frames come at times given by an expression of N.
func paced(size image.Point, n int, seconds string) string {
	return fmt.Sprintf("color=c=gray:s=%dx%d:r=25:d=%f,settb=1/1000000,setpts='floor((%s)*1000000+0.5)',format=yuv420p",
		size.X, size.Y, float64(n)/25-0.02, seconds)
}

// What the strip says is compared frame by frame with what the timeline knows at
// each frame's own time: a change a frame early or late shows.
func TestTextChangesOnTheVeryFrame(t *testing.T) {
	uneven := func(i int) timecode.Video { return timecode.Video(i*20+i*7919%23) * 1e6 }
	for _, c := range []struct {
		name    string
		n       int
		at      func(int) timecode.Video
		seconds string
		slow    int
		between bool // only a soak draws it: slower and faster ones are drawn
	}{
		{"25", 100, rate(25, 1), "N/25", 1, true},
		{"30000/1001", 120, rate(30000, 1001), "N*1001/30000", 1, false},
		{"50", 200, rate(50, 1), "N/50", 1, true},
		{"60000/1001", 240, rate(60000, 1001), "N*1001/60000", 1, false},
		{"120", 360, rate(120, 1), "N/120", 2, true},
		{"240", 480, rate(240, 1), "N/240", 3, false},
		{"varying", 200, uneven, "N*0.02+mod(N*7919,23)/1000", 3, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			j := demo()
			j.notes = nil
			j.frames = make([]timecode.Video, c.n)
			for i := range j.frames {
				j.frames[i] = c.at(i)
			}
			j.end = c.at(c.n)
			l, _ := j.layout(t, 320, 240)
			if l.Slow != c.slow {
				t.Errorf("%d times slower, want %d", l.Slow, c.slow)
			}
			if c.between && !soak.On() {
				return
			}
			strips := stripPixels(t, l, l.PlaceScript(0, j.end), paced(image.Pt(320, 240), c.n, c.seconds))
			checkChanges(t, l, strips, 0)
		})
	}
}

func rate(num, den int64) func(int) timecode.Video {
	return func(i int) timecode.Video { return timecode.Video(int64(i) * den * 1e9 / num) }
}

// A script for a part of the recording says on each frame what the whole one does.
func TestTextOfAPart(t *testing.T) {
	j := demo()
	l, _ := j.layout(t, 320, 240)
	source := paced(image.Pt(320, 240), 100, "N/25")
	whole := stripPixels(t, l, l.PlaceScript(0, j.end), source)
	part := stripPixels(t, l, l.PlaceScript(timecode.VideoSeconds(1), timecode.VideoSeconds(3)), source)
	for i := range whole {
		if inside := i >= 25 && i < 75; inside != bytes.Equal(whole[i], part[i]) {
			t.Errorf("frame %d: same as in the whole: %v", i, !inside)
		}
	}
}

func checkChanges(t *testing.T, l *Layout, strips [][]byte, first int) {
	t.Helper()
	frames := l.teller.t.Recording.Frames
	if len(strips) != len(frames) {
		t.Fatalf("%d frames came out, want %d", len(strips), len(frames))
	}
	changes := 0
	for i := first; i < len(strips); i++ {
		if slices.Max(strips[i]) < inkLevel/2 {
			t.Errorf("frame %d has no text", i)
		}
		if i == first {
			continue
		}
		said := l.teller.words.DistanceAt(frames[i]) != l.teller.words.DistanceAt(frames[i-1]) ||
			l.teller.words.TimeAt(frames[i]) != l.teller.words.TimeAt(frames[i-1])
		if seen := !bytes.Equal(strips[i], strips[i-1]); seen != said {
			t.Errorf("frame %d at %v: the text changes: %v, want %v", i, frames[i], seen, said)
		}
		if said {
			changes++
		}
	}
	if changes < 5 {
		t.Errorf("only %d changes: nothing was tried", changes)
	}
}

// stripPixels is the luma of the place strip, frame by frame.
func stripPixels(t *testing.T, l *Layout, s Script, source string) [][]byte {
	t.Helper()
	g := l.Place.Ground
	graph := l.Graph(lavfi(source), Burn{Script: "c.ass", Fonts: "fonts"}).
		Filter("crop", ff.Args{fmt.Sprint(g.Dx()), fmt.Sprint(g.Dy()), fmt.Sprint(g.Min.X), fmt.Sprint(g.Min.Y)}).
		Filter("format", ff.Args{"gray"})
	return slices.Collect(slices.Chunk(render(t, graph, map[string][]byte{"c.ass": script(t, s)}), g.Dx()*g.Dy()))
}

// The evidence passes through untouched where nothing forces it to be scaled.
func TestPictureIsUntouched(t *testing.T) {
	for size, strips := range map[image.Point][]string{{320, 240}: {"above"}, {322, 238}: {"above", "below", "none"}} {
		source := fmt.Sprintf("testsrc2=s=%dx%d:r=25:d=0.12,format=yuv420p", size.X, size.Y)
		want := render(t, lavfi(source), nil)
		for _, strip := range strips {
			j := demo()
			j.captions.Strip = strip
			l, _ := j.layout(t, size.X, size.Y, withNotes)
			p := l.Picture
			burned := l.Graph(lavfi(source), Burn{Script: "c.ass", Fonts: "fonts"}).
				Filter("crop", ff.Args{fmt.Sprint(p.Dx()), fmt.Sprint(p.Dy()), fmt.Sprint(p.Min.X), fmt.Sprint(p.Min.Y)})
			if got := render(t, burned, map[string][]byte{"c.ass": script(t, l.NotesScript())}); !bytes.Equal(got, want) {
				t.Errorf("%s, %v: the picture changed", strip, size)
			}
		}
	}
}

// The captions' greys hold no colour whichever matrix a picture says it has.
func TestStripHasNoColour(t *testing.T) {
	for _, matrix := range []string{"bt709", "smpte170m", "bt470bg", "unknown"} {
		l, _ := demo().layout(t, 320, 240, withNotes)
		source := "testsrc2=s=320x240:r=25:d=2,select='between(n,20,30)',format=yuv420p,setparams=colorspace=" + matrix
		g := l.Place.Ground
		graph := l.Graph(lavfi(source), Burn{Script: "c.ass", Fonts: "fonts"}).
			Filter("crop", ff.Args{fmt.Sprint(g.Dx()), fmt.Sprint(g.Dy()), "0", "0"})
		raw := render(t, graph, map[string][]byte{"c.ass": script(t, l.NotesScript())})
		luma := g.Dx() * g.Dy()
		for at := 0; at < len(raw); at += luma * 3 / 2 {
			for _, c := range raw[at+luma : at+luma*3/2] {
				if c != 128 {
					t.Fatalf("%s: a colour sample of %d in the strip", matrix, c)
				}
			}
		}
	}
}

// contrast is the contrast ratio of two greys by WCAG 2.2 (relative luminance of
// sRGB; the constants are the recommendation's).
func contrast(a, b uint8) float64 {
	luminance := func(level uint8) float64 {
		c := float64(level) / 255
		if c <= 0.04045 {
			return c / 12.92
		}
		return math.Pow((c+0.055)/1.055, 2.4)
	}
	la, lb := luminance(a), luminance(b)
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

func TestContrastFormula(t *testing.T) {
	// Published pairs: black on white is 21:1, #777 on white 4.48:1.
	if c := contrast(0, 255); math.Abs(c-21) > 1e-9 {
		t.Errorf("black on white: %v", c)
	}
	if c := contrast(0x77, 255); math.Abs(c-4.478) > 0.001 {
		t.Errorf("#777 on white: %v", c)
	}
}

// Legible: contrast at least 7:1, capitals at least 1/28 of the shorter side, text
// inside the safe area; measured on the pixels of libass and of the still.
func TestLegible(t *testing.T) {
	for _, size := range []image.Point{{320, 240}, {768, 576}, {1280, 720}, {1920, 1080}, {1080, 1920}, {3840, 2160}} {
		for _, strip := range []string{"above", "below", "over"} {
			j := demo()
			j.line = jobsheet.Line{Name: "HHHHHHHH"}
			j.captions.Strip = strip
			s, _ := j.layout(t, size.X, size.Y, asStill)
			checkLegible(t, fmt.Sprintf("%v, %s, still", size, strip), s, s.CaptionStill(image.NewUniform(color.White), 0, nil))
			// That a still looks like the video is tried too: the smallest, the one on its
			// side and the one that is scaled stand for all.
			if short := map[image.Point]string{{320, 240}: "over", {1080, 1920}: "below", {3840, 2160}: "above"}; !soak.On() && short[size] != strip {
				continue
			}
			l, _ := j.layout(t, size.X, size.Y)
			source := fmt.Sprintf("color=c=white:s=%dx%d:r=25:d=0.04,format=yuv420p", size.X, size.Y)
			checkLegible(t, fmt.Sprintf("%v, %s, video", size, strip), l, burn(t, l, l.PlaceScript(0, j.end), source, 0)[0])
		}
	}
}

func checkLegible(t *testing.T, name string, l *Layout, img image.Image) {
	t.Helper()
	g := l.Place.Ground
	level := func(x, y int) uint8 { return color.GrayModel.Convert(img.At(x, y)).(color.Gray).Y }
	ground := level(g.Min.X, g.Min.Y)
	var inked []uint8
	rows := map[int]bool{}
	area := image.Rectangle{}
	name0 := l.size.line()*1.1 + l.size.margin() // the first row: capitals only
	if l.Place.Rows == 1 {
		name0 = float64(g.Dy())
	}
	for y := g.Min.Y; y < g.Max.Y; y++ {
		for x := g.Min.X; x < g.Max.X; x++ {
			if v := level(x, y); v > 128 {
				inked = append(inked, v)
				area = area.Union(image.Rect(x, y, x+1, y+1))
				if float64(y-g.Min.Y) < name0 && x < g.Min.X+int(5*l.size.capital) {
					rows[y] = true
				}
			}
		}
	}
	if len(inked) == 0 {
		t.Errorf("%s: no text", name)
		return
	}
	slices.Sort(inked)
	if c := contrast(ground, inked[len(inked)/2]); c < 7 {
		t.Errorf("%s: contrast %.1f of %d on %d", name, c, inked[len(inked)/2], ground)
	}
	if shorter := min(l.Picture.Dx(), l.Picture.Dy()); len(rows)*28 < shorter {
		t.Errorf("%s: capitals are %d pixels high in a picture of %d", name, len(rows), shorter)
	}
	safe := l.safeArea()
	if l.spec.Captions.Strip != "over" {
		safe.Min.Y, safe.Max.Y = 0, l.Height
	}
	if !area.In(safe) {
		t.Errorf("%s: text %v leaves the safe area %v", name, area, safe)
	}
}

// The font is ours: the same pixels come out where the system has none.
func TestNoSystemFontIsUsed(t *testing.T) {
	j := demo()
	j.notes = []string{"שלום — سلام — Ωμέγα 中 😀 [x]"}
	l, _ := j.layout(t, 640, 480, withNotes)
	source := atFrame30("640x480")
	with := burn(t, l, l.NotesScript(), source, 0)[0]
	t.Setenv("FONTCONFIG_FILE", t.TempDir()+"/none.conf")
	without := burn(t, l, l.NotesScript(), source, 0)[0]
	if !bytes.Equal(with.Pix, without.Pix) {
		t.Error("the picture depends on the system's fonts")
	}
}
