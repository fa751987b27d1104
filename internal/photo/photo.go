// Package photo makes the photos of a job fit to hand over: turned upright, no larger
// than a page needs, and without what the camera wrote beside the picture.
//
//	p, err := photo.Open(data)
//	p.Taken, p.HasTime            // local time, as the camera's clock showed it
//	err = p.WriteJPEG(w, false)   // true: the camera's notes, and so the place, are kept
//
// It reads JPEG and PNG itself and bounds what a hostile file may cost; other kinds
// have to be decoded by the caller (see Upright). It promises nothing about a camera's
// clock being right.
package photo

import (
	"bytes"
	"image"
	"image/draw"
	"image/jpeg"
	"image/png"
	"io"
	"time"

	"github.com/disintegration/imaging"

	"pushcue/timeline/words"
)

// Bounds on a photo. One of 100 million pixels is beyond what phones make.
const (
	MostBytes  = 64 << 20 // of the file
	MostPixels = 100_000_000
	longest    = 2000 // pixels of the longer side that are handed over
	quality    = 88
)

// ErrKind means that the file is neither JPEG nor PNG.
var ErrKind = words.Errorf("it is neither JPEG nor PNG")

// A Photo is one picture and what its camera said of it.
type Photo struct {
	Taken   time.Time // as the camera's clock showed it, in UTC for want of a zone
	HasTime bool
	picture image.Image // upright
	notes   []byte      // the camera's own block of notes (Exif), "" without one
}

// Open decodes a JPEG or PNG and turns it upright.
func Open(data []byte) (*Photo, error) {
	kind := kindOf(data)
	if kind == "" {
		return nil, ErrKind
	}
	var shape image.Config
	var err error
	if kind == "png" {
		shape, err = png.DecodeConfig(bytes.NewReader(data))
	} else {
		shape, err = jpeg.DecodeConfig(bytes.NewReader(data))
	}
	if err != nil {
		return nil, words.Errorf("the picture is damaged: %s", err)
	}
	if shape.Width*shape.Height > MostPixels {
		return nil, words.Errorf("it is %d by %d pixels large", shape.Width, shape.Height)
	}
	var picture image.Image
	if kind == "png" {
		picture, err = png.Decode(bytes.NewReader(data))
	} else {
		picture, err = jpeg.Decode(bytes.NewReader(data))
	}
	if err != nil {
		return nil, words.Errorf("the picture is damaged: %s", err)
	}
	return Upright(picture, FindNotes(data)), nil
}

func kindOf(data []byte) string {
	switch {
	case bytes.HasPrefix(data, []byte{0xff, 0xd8, 0xff}):
		return "jpeg"
	case bytes.HasPrefix(data, []byte("\x89PNG\r\n\x1a\n")):
		return "png"
	}
	return ""
}

// Upright makes a Photo of a picture that was decoded elsewhere, with the camera's
// notes as FindNotes returned them.
func Upright(picture image.Image, notes []byte) *Photo {
	p := &Photo{notes: notes}
	e := readNotes(notes)
	p.Taken, p.HasTime = e.taken()
	p.picture = turned(imaging.Fit(plainPixels(picture), longest, longest, imaging.Lanczos), e.orientation)
	return p
}

// AsDecoded makes a Photo of a picture that was turned upright when it was decoded.
func AsDecoded(picture image.Image, notes []byte) *Photo { return Upright(picture, saidUpright(notes)) }

// plainPixels copies a picture into one without a palette: scaling one whose pixels
// point past the end of its palette would end the program from a thread of its own.
func plainPixels(p image.Image) image.Image {
	palette, ok := p.(*image.Paletted)
	if !ok {
		return p
	}
	out := image.NewNRGBA(p.Bounds())
	for _, at := range palette.Pix {
		if int(at) >= len(palette.Palette) {
			return out
		}
	}
	draw.Draw(out, out.Bounds(), p, p.Bounds().Min, draw.Src)
	return out
}

// turned undoes how the camera was held (Exif 2.3, tag 0x0112).
func turned(p image.Image, orientation int) image.Image {
	switch orientation {
	case 2:
		return imaging.FlipH(p)
	case 3:
		return imaging.Rotate180(p)
	case 4:
		return imaging.FlipV(p)
	case 5:
		return imaging.Transpose(p)
	case 6:
		return imaging.Rotate270(p)
	case 7:
		return imaging.Transverse(p)
	case 8:
		return imaging.Rotate90(p)
	}
	return p
}

// WriteJPEG writes the photo with nothing beside its pixels; or, where keepNotes is
// set, with the camera's notes, in which it is now said to be upright.
func (p *Photo) WriteJPEG(w io.Writer, keepNotes bool) error {
	ground := image.NewRGBA(image.Rect(0, 0, p.picture.Bounds().Dx(), p.picture.Bounds().Dy()))
	draw.Draw(ground, ground.Rect, image.White, image.Point{}, draw.Src)
	draw.Draw(ground, ground.Rect, p.picture, p.picture.Bounds().Min, draw.Over)
	var b bytes.Buffer
	if err := jpeg.Encode(&b, ground, &jpeg.Options{Quality: quality}); err != nil {
		return err
	}
	out := b.Bytes()
	if keepNotes && len(p.notes) > 0 {
		out = withNotes(out, p.notes)
	}
	_, err := w.Write(out)
	return err
}

// withNotes puts a block of notes behind the start of a JPEG (Exif 2.3 section 4.7:
// marker APP1, length, "Exif", two zero bytes).
func withNotes(picture, notes []byte) []byte {
	notes = saidUpright(notes)
	long := 2 + len(exifMark) + len(notes)
	if long > 0xffff {
		return picture
	}
	out := append([]byte{}, picture[:2]...)
	out = append(out, 0xff, 0xe1, byte(long>>8), byte(long))
	out = append(append(out, exifMark...), notes...)
	return append(out, picture[2:]...)
}
