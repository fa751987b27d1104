package framenumber

import (
	"bytes"
	"image"
	"image/draw"
	"image/jpeg"
	"math/rand/v2"
	"testing"

	"github.com/disintegration/imaging"
)

func drawn(width, height, n int) *image.Gray {
	img := image.NewGray(image.Rect(0, 0, width, height))
	for i := range img.Pix {
		img.Pix[i] = byte(60 + i%97)
	}
	Draw(img.Pix, img.Stride, width, height, n)
	return img
}

func TestNumberComesBack(t *testing.T) {
	for _, size := range [][2]int{{160, 120}, {320, 240}, {352, 288}, {720, 576}, {1280, 720}, {240, 320}} {
		for _, n := range []int{0, 1, 2, 25, 4095, 65536, 107892, Max} {
			if got, ok := Read(drawn(size[0], size[1], n)); !ok || got != n {
				t.Errorf("%v: %d came back as %d, %v", size, n, got, ok)
			}
		}
	}
}

func TestNumberSurvives(t *testing.T) {
	changes := map[string]func(image.Image) image.Image{
		"strip above":     func(m image.Image) image.Image { return padded(m, 0, 48, 0) },
		"strips all over": func(m image.Image) image.Image { return padded(m, 30, 64, 24) },
		"squared pixels":  func(m image.Image) image.Image { return imaging.Resize(m, 342, 240, imaging.Linear) },
		"halved":          func(m image.Image) image.Image { return imaging.Resize(m, 160, 120, imaging.Lanczos) },
		"odd size":        func(m image.Image) image.Image { return imaging.Resize(m, 287, 199, imaging.CatmullRom) },
		"bad JPEG":        func(m image.Image) image.Image { return compressed(m, 5) },
		"blurred":         func(m image.Image) image.Image { return imaging.Blur(m, 2) },
		"dimmed":          func(m image.Image) image.Image { return imaging.AdjustContrast(m, -50) },
	}
	for name, change := range changes {
		for _, n := range []int{0, 7, 777, 123456} {
			if got, ok := Read(change(drawn(320, 240, n))); !ok || got != n {
				t.Errorf("%s: %d came back as %d, %v", name, n, got, ok)
			}
		}
	}
}

func TestNothingIsReadWhereNothingIs(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 50 {
		img := image.NewGray(image.Rect(0, 0, 320, 240))
		for i := range img.Pix {
			img.Pix[i] = byte(r.Uint32())
		}
		if n, ok := Read(img); ok {
			t.Errorf("read %d from noise", n)
		}
	}
	damaged := drawn(320, 240, 4711)
	_, middle, bottom := Rows(240)
	draw.Draw(damaged, image.Rect(60, middle, 110, bottom), image.White, image.Point{}, draw.Src)
	if n, ok := Read(damaged); ok {
		t.Errorf("read %d from damaged blocks", n)
	}
}

func padded(m image.Image, side, above, below int) image.Image {
	b := m.Bounds()
	out := image.NewRGBA(image.Rect(0, 0, b.Dx()+2*side, b.Dy()+above+below))
	draw.Draw(out, out.Bounds(), image.Black, image.Point{}, draw.Src)
	draw.Draw(out, b.Add(image.Pt(side, above)), m, b.Min, draw.Src)
	return out
}

func compressed(m image.Image, quality int) image.Image {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: quality}); err != nil {
		panic(err)
	}
	out, err := jpeg.Decode(&b)
	if err != nil {
		panic(err)
	}
	return out
}
