package onscreen

import (
	"image"
	"image/color"
	"reflect"
	"testing"

	"pushcue/frames"
	"pushcue/internal/ffmpeg"
)

func TestPartsOfOneSizeAreReadTogether(t *testing.T) {
	part := func(w, h, turned int) frames.Part {
		return frames.Part{Media: &ffmpeg.Media{Video: ffmpeg.VideoStream{Width: w, Height: h, Rotation: turned}}}
	}
	rec := &frames.Recording{Parts: []frames.Part{part(640, 480, 0), part(720, 576, 0), part(640, 480, 180), part(480, 640, 90), part(640, 480, 90)}}
	if got, want := Alike(rec), [][]int{{0, 2, 3}, {1}, {4}}; !reflect.DeepEqual(got, want) {
		t.Errorf("alike are %v, want %v", got, want)
	}
}

func TestSheetHoldsWhateverThereIsToShow(t *testing.T) {
	wide, small := image.NewNRGBA(image.Rect(0, 0, 1920, 1080)), image.NewNRGBA(image.Rect(0, 0, 160, 120))
	crop := image.NewNRGBA(image.Rect(0, 0, 300, 8))
	for i := range crop.Pix {
		crop.Pix[i] = 200
	}
	crops := []Crop{{crop, "12.4 m", "at 3:12.2, least sure"}, {image.NewNRGBA(image.Rect(0, 0, 3, 90)), "1.0 m", ""}}
	long := "A sentence that is much too long for the room beside the frame and has to go on in further lines, again and again."
	for name, sections := range map[string][]Section{
		"none":              nil,
		"one":               {{Picture: small, Box: image.Rect(150, 100, 170, 130), Facts: []string{long, long}, Crops: crops}},
		"two sizes":         {{Picture: wide, Box: image.Rect(10, 10, 200, 40), Crops: crops}, {Picture: small}},
		"more than a row's": {{Picture: small, Crops: append(append(crops, crops...), crops...)}},
	} {
		sheet := DrawSheet("kitchen: is this what the counter shows?", sections, []string{long})
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
