package frames

import (
	"image"
	"image/color"
	"testing"
)

// limited is the digital picture of a colour, by the formulas of ITU-R BT.601, BT.709
// and BT.2020: 219 steps of luma from 16, 224 of colour difference around 128.
func limited(m matrix, r, g, b float64) (y, cb, cr uint8) {
	luma := m.kr*r + (1-m.kr-m.kb)*g + m.kb*b
	blue, red := (b-luma)/(2*(1-m.kb)), (r-luma)/(2*(1-m.kr))
	return uint8(16 + 219*luma + 0.5), uint8(128 + 224*blue + 0.5), uint8(128 + 224*red + 0.5)
}

func TestColoursComeOutAsTheyWere(t *testing.T) {
	for name, c := range map[string]struct{ ours, published matrix }{
		"BT.601": {bt601, matrix{0.299, 0.114}}, "BT.709": {bt709, matrix{0.2126, 0.0722}}, "BT.2020": {bt2020, matrix{0.2627, 0.0593}},
	} {
		for _, want := range []color.RGBA{{0, 0, 0, 255}, {255, 255, 255, 255}, {128, 128, 128, 255}, {200, 40, 30, 255}, {20, 160, 60, 255}, {30, 60, 220, 255}, {150, 110, 70, 255}} {
			img := image.NewYCbCr(image.Rect(0, 0, 2, 2), image.YCbCrSubsampleRatio420)
			y, cb, cr := limited(c.published, float64(want.R)/255, float64(want.G)/255, float64(want.B)/255)
			img.Y[0], img.Y[1], img.Y[2], img.Y[3], img.Cb[0], img.Cr[0] = y, y, y, y, cb, cr
			c.ours.toJPEG().apply(img)
			got := color.RGBAModel.Convert(img.At(1, 1)).(color.RGBA)
			if far(got.R, want.R) || far(got.G, want.G) || far(got.B, want.B) {
				t.Errorf("%s: %v came out as %v", name, want, got)
			}
		}
	}
}

// far is more than the steps of two roundings.
func far(a, b uint8) bool { return max(a, b)-min(a, b) > 4 }
