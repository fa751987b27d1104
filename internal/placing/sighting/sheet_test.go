package sighting

import (
	"image"
	"image/color"
	"testing"
)

func TestSheetHoldsWhateverThereIsToShow(t *testing.T) {
	wide, small := image.NewNRGBA(image.Rect(0, 0, 1920, 1080)), image.NewNRGBA(image.Rect(0, 0, 160, 120))
	pixels := image.NewNRGBA(image.Rect(0, 0, 300, 8))
	for i := range pixels.Pix {
		pixels.Pix[i] = 200
	}
	crops := []crop{{pixels, "12.4 m", "at 3:12.2, least sure"}, {image.NewNRGBA(image.Rect(0, 0, 3, 90)), "1.0 m", ""}}
	long := "A sentence that is much too long for the room beside the frame and has to go on in further lines, again and again."
	for name, sections := range map[string][]section{
		"none":              nil,
		"one":               {{Picture: small, Box: image.Rect(150, 100, 170, 130), Facts: []string{long, long}, Crops: crops}},
		"two sizes":         {{Picture: wide, Box: image.Rect(10, 10, 200, 40), Crops: crops}, {Picture: small}},
		"more than a row's": {{Picture: small, Crops: append(append(crops, crops...), crops...)}},
	} {
		sheet := drawn("kitchen: is this what the counter shows?", sections, []string{long})
		if size := sheet.Bounds().Size(); size.X != sheetWidth || size.Y < 60 || size.Y > 2400 {
			t.Errorf("%s: %v", name, size)
		}
		for _, y := range []int{0, sheet.Bounds().Max.Y - 1} {
			if c := color.NRGBAModel.Convert(sheet.At(2, y)); c != ground {
				t.Errorf("%s: row %d is %v, not the sheet's ground", name, y, c)
			}
		}
	}
}
