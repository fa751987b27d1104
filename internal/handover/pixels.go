package handover

import (
	"image"
	"image/draw"
)

// plainPixels copies a picture that somebody else made into one without a palette:
// scaling one whose pixels point past the end of its palette would end the program
// from a thread of its own (CVE-2023-36308).
func plainPixels(p image.Image) *image.NRGBA {
	if palette, ok := p.(*image.Paletted); ok {
		for i, at := range palette.Pix {
			if int(at) >= len(palette.Palette) {
				palette.Pix[i] = 0
			}
		}
		if len(palette.Palette) == 0 {
			return image.NewNRGBA(p.Bounds())
		}
	}
	out := image.NewNRGBA(image.Rect(0, 0, p.Bounds().Dx(), p.Bounds().Dy()))
	draw.Draw(out, out.Bounds(), p, p.Bounds().Min, draw.Src)
	return out
}
