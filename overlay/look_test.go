package overlay

import (
	"fmt"
	"image"
	"image/color"
	"image/png"
	"os"
	"strconv"
	"testing"
)

func itoa(n int) string { return strconv.Itoa(n) }

func savePNG(t *testing.T, name string, img image.Image) {
	f, _ := os.Create("/tmp/ov/" + name + ".png")
	defer f.Close()
	if err := png.Encode(f, img); err != nil {
		t.Fatal(err)
	}
}

func TestLook(t *testing.T) {
	for _, s := range [][2]int{{320, 240}, {768, 576}, {1280, 720}, {1080, 1920}} {
		j := demo()
		l, ws := j.layout(t, s[0], s[1], withNotes)
		ls, _ := j.layout(t, s[0], s[1], asStill)
		fmt.Println(s, l.Width, l.Height, l.Picture, l.Place, l.Notes, l.Level, l.Slow, ws)
		src := fmt.Sprintf("testsrc2=s=%dx%d:r=25:d=4,format=yuv420p", s[0], s[1])
		im := burn(t, l, l.NotesScript(), src, 30)
		savePNG(t, fmt.Sprintf("n%dx%d", s[0], s[1]), im[0])
		savePNG(t, fmt.Sprintf("s%dx%d", s[0], s[1]), ls.CaptionStill(image.NewUniform(color.Gray{90}), 30, &ls.teller.t.Observations[0]))
		j.captions.Strip = "over"
		j.captions.Show = "place+label"
		lo, ws := j.layout(t, s[0], s[1], func(s *Spec) { s.Clear = []image.Rectangle{image.Rect(0, 0, s.Width/2, s.Height/4)} })
		fmt.Println(lo.Place, ws)
		savePNG(t, fmt.Sprintf("o%dx%d", s[0], s[1]), burn(t, lo, lo.NotesScript(), src, 30)[0])
	}
}
