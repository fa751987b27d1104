package overlay

import (
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"testing"

	"pushcue/internal/soak"
	"pushcue/timeline/distance"
	"pushcue/timeline/jobsheet"
)

// marbled is a picture no two neighbouring pixels of which are alike.
func marbled(w, h int) *image.NRGBA {
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			img.SetNRGBA(x, y, color.NRGBA{uint8(x * 7), uint8(y * 5), uint8(x ^ y), 255})
		}
	}
	return img
}

func TestStillKeepsThePicture(t *testing.T) {
	for _, strip := range []string{"above", "below", "none"} {
		for _, size := range []image.Point{{320, 240}, {321, 239}, {1080, 1920}, {90, 200}} {
			name := fmt.Sprintf("%s, %v", strip, size)
			j := demo()
			j.captions.Strip = strip
			l, _ := j.layout(t, size.X, size.Y, asStill)
			img := marbled(size.X, size.Y)
			out := l.CaptionStill(img, 10, &l.teller.t.Observations[0])
			if l.Picture.Size() != size {
				t.Errorf("%s: the picture became %v", name, l.Picture.Size())
			}
			for y := range size.Y {
				for x := range size.X {
					if got, want := out.At(l.Picture.Min.X+x, l.Picture.Min.Y+y), img.At(x, y); color.NRGBAModel.Convert(got) != want {
						t.Fatalf("%s: pixel %d,%d became %v, was %v", name, x, y, got, want)
					}
				}
			}
		}
	}
}

// The best picture may be a little before or after its observation, where the camera
// was elsewhere: its caption says where the observation is, as name and page do.
func TestStillSaysWhereItsObservationIs(t *testing.T) {
	l, _ := demo().layout(t, 640, 480, asStill)
	o := l.teller.t.Observations[0]
	at := distance.Metres(12.4)
	o.Distance = &at
	gray := image.NewUniform(color.Gray{128})
	// Frames of one second, between which the track goes on by two tenths of a metre.
	early, late := l.CaptionStill(gray, 10, &o), l.CaptionStill(gray, 30, &o)
	if share := differing(early, late, l.Place.Ground); share > 0 {
		t.Errorf("%.1f %% of the strip changes with the frame", 100*share)
	}
	if text := l.teller.words.WhereShown(&o, 0); text != "12.4 m" {
		t.Errorf("it says %q", text)
	}
	if differing(l.CaptionStill(gray, 10, nil), l.CaptionStill(gray, 30, nil), l.Place.Ground) == 0 {
		t.Error("a still of no observation doesn't say where the camera was")
	}
}

// A still's caption and the video's are the same words in the same places.
func TestStillLooksLikeTheVideo(t *testing.T) {
	for _, size := range []image.Point{{320, 240}, {1280, 720}, {720, 1280}} {
		for _, strip := range []string{"above", "below", "over"} {
			if short := map[image.Point]string{{320, 240}: "below", {1280, 720}: "above", {720, 1280}: "over"}; !soak.On() && short[size] != strip {
				continue
			}
			j := demo()
			j.captions = jobsheet.Captions{Strip: strip, Show: "place+label"}
			l, _ := j.layout(t, size.X, size.Y)
			video := burn(t, l, l.PlaceScript(0, j.end), atFrame30(fmt.Sprintf("%dx%d", size.X, size.Y)), 0)[0]
			still := l.CaptionStill(image.NewUniform(color.Gray{128}), 30, &l.teller.t.Observations[0])
			if share := differing(video, still, l.Place.Ground); share > 0.02 {
				t.Errorf("%v, %s: %.1f %% of the strip differs", size, strip, 100*share)
			}
		}
	}
}

// differing is the share of pixels that aren't at all alike.
func differing(a, b image.Image, in image.Rectangle) float64 {
	grayA, grayB := image.NewGray(in), image.NewGray(in)
	draw.Draw(grayA, in, a, in.Min, draw.Src)
	draw.Draw(grayB, in, b, in.Min, draw.Src)
	n := 0
	for i, v := range grayA.Pix {
		if d := int(v) - int(grayB.Pix[i]); d > 110 || d < -110 {
			n++
		}
	}
	return float64(n) / float64(len(grayA.Pix))
}
