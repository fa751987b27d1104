package frames

import (
	"image"
	"io"
)

// Thumbnail is img made to fit into width x height pixels; it never enlarges.
func Thumbnail(img image.Image, width, height int) image.Image { return img }

// ContactSheet lays tiles out in rows, each made to fit into width x height pixels.
func ContactSheet(tiles []image.Image, columns, width, height int) image.Image { return nil }

// EncodeJPEG writes img the same way each time, at a quality of 92 of 100.
func EncodeJPEG(w io.Writer, img image.Image) error { return nil }
