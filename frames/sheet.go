package frames

import (
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	"io"
	"math"

	"github.com/disintegration/imaging"
)

// Quality of the JPEG pictures, of 100.
const Quality = 92

// Thumbnail is img made to fit into width x height pixels; it never enlarges. img
// is one of our own pictures, never decoded from a file that came from outside.
func Thumbnail(img image.Image, width, height int) image.Image {
	return imaging.Fit(img, width, height, imaging.Lanczos)
}

// ContactSheet lays pictures out in rows from left to right, each made to fit into a
// tile of width x height pixels, dark between them. It has at least one tile.
func ContactSheet(tiles []image.Image, columns, width, height int) image.Image {
	const gap = 8
	columns = max(1, min(columns, len(tiles)))
	width, height = largest(tiles, width, height)
	rows := max(1, (len(tiles)+columns-1)/columns)
	sheet := imaging.New(columns*(width+gap)+gap, rows*(height+gap)+gap, color.NRGBA{R: 24, G: 24, B: 24, A: 255})
	for i, tile := range tiles {
		small := Thumbnail(tile, width, height)
		size := small.Bounds().Size()
		at := image.Pt(gap+i%columns*(width+gap)+(width-size.X)/2, gap+i/columns*(height+gap)+(height-size.Y)/2)
		draw.Draw(sheet, image.Rectangle{at, at.Add(size)}, small, small.Bounds().Min, draw.Src)
	}
	return sheet
}

// largest is the room that the largest tile takes within width by height, so that
// tiles of one shape stand side by side without empty ground between them.
func largest(tiles []image.Image, width, height int) (int, int) {
	wide, high := 1, 1
	for _, t := range tiles {
		size := t.Bounds().Size()
		k := min(1, float64(width)/float64(max(size.X, 1)), float64(height)/float64(max(size.Y, 1)))
		wide = max(wide, min(width, int(math.Ceil(k*float64(size.X)))))
		high = max(high, min(height, int(math.Ceil(k*float64(size.Y)))))
	}
	return wide, high
}

// EncodeJPEG writes img; the same picture gives the same bytes.
func EncodeJPEG(w io.Writer, img image.Image) error {
	return jpeg.Encode(w, img, &jpeg.Options{Quality: Quality})
}
