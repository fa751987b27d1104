package frames

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"testing"
)

func plain(width, height int, c color.Color) image.Image {
	img := image.NewNRGBA(image.Rect(0, 0, width, height))
	for i := range img.Pix {
		r, g, b, a := c.RGBA()
		img.Pix[i] = []uint8{uint8(r >> 8), uint8(g >> 8), uint8(b >> 8), uint8(a >> 8)}[i%4]
	}
	return img
}

func TestThumbnailFitsAndNeverGrows(t *testing.T) {
	for _, test := range []struct{ w, h, wantW, wantH int }{
		{1280, 720, 320, 180}, {720, 1280, 135, 240}, {100, 80, 100, 80}, {4000, 10, 320, 1},
	} {
		got := Thumbnail(image.NewYCbCr(image.Rect(0, 0, test.w, test.h), image.YCbCrSubsampleRatio420), 320, 240).Bounds().Size()
		if got != image.Pt(test.wantW, test.wantH) {
			t.Errorf("%dx%d becomes %v", test.w, test.h, got)
		}
	}
}

func TestContactSheetShowsEveryTileInOrder(t *testing.T) {
	colours := []color.NRGBA{{R: 255, A: 255}, {G: 255, A: 255}, {B: 255, A: 255}, {R: 255, G: 255, A: 255}, {R: 255, B: 255, A: 255}}
	var tiles []image.Image
	for i, c := range colours {
		tiles = append(tiles, plain(100+50*i, 100, c))
	}
	sheet := ContactSheet(tiles, 3, 80, 60)
	if got, want := sheet.Bounds().Size(), image.Pt(3*88+8, 2*68+8); got != want {
		t.Fatalf("the sheet is %v, not %v", got, want)
	}
	for i, want := range colours {
		x, y := 8+i%3*88+40, 8+i/3*68+30
		if got := sheet.At(x, y); got != want {
			t.Errorf("in the middle of tile %d there is %v, not %v", i, got, want)
		}
	}
	if got := ContactSheet(nil, 4, 80, 60).Bounds(); got.Dx() < 1 || got.Dy() < 1 {
		t.Errorf("without stills the sheet is %v", got)
	}
}

func TestJPEGIsTheSameEachTimeAndKeepsTheLuma(t *testing.T) {
	img := image.NewYCbCr(image.Rect(0, 0, 64, 48), image.YCbCrSubsampleRatio420)
	for i := range img.Y {
		img.Y[i] = uint8(i / 64 * 5)
	}
	for i := range img.Cb {
		img.Cb[i], img.Cr[i] = 128, 128
	}
	var one, two bytes.Buffer
	if err := EncodeJPEG(&one, img); err != nil {
		t.Fatal(err)
	}
	EncodeJPEG(&two, img)
	if !bytes.Equal(one.Bytes(), two.Bytes()) {
		t.Error("the same picture gave other bytes")
	}
	back, err := jpeg.Decode(&one)
	if err != nil {
		t.Fatal(err)
	}
	for i, v := range back.(*image.YCbCr).Y[:64*48] {
		if d := int(v) - int(img.Y[i]); d < -6 || d > 6 {
			t.Fatalf("luma %d came back as %d", img.Y[i], v)
		}
	}
}
