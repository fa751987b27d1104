package counter

import (
	"image"
	"image/color"
	"image/draw"
	"math"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/basicfont"
	"golang.org/x/image/font/gofont/gomonobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/inconsolata"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
)

// known are digits in a few faces, to compare those of a recording with. They
// needn't be its own: a label comes from the likeness of all its digits together
// and from how they count.
var known = sync.OnceValue(func() [10][]shape {
	var all [10][]shape
	faces := []font.Face{inconsolata.Bold8x16, inconsolata.Regular8x16, basicfont.Face7x13}
	var slanting []font.Face
	for _, ttf := range [][]byte{goregular.TTF, gomonobold.TTF} {
		parsed, err := opentype.Parse(ttf)
		if err != nil {
			continue // fonts of a library are whole
		}
		if face, err := opentype.NewFace(parsed, &opentype.FaceOptions{Size: 40, DPI: 72}); err == nil {
			faces, slanting = append(faces, face), append(slanting, face)
		}
	}
	for digit := range 10 {
		for _, f := range faces {
			all[digit] = append(all[digit], drawnShape(f, rune('0'+digit), 0))
		}
		for _, f := range slanting {
			all[digit] = append(all[digit], drawnShape(f, rune('0'+digit), slant))
		}
		all[digit] = append(all[digit], barsShape(digit))
	}
	// A 1 without foot or flag.
	bar := image.NewGray(image.Rect(0, 0, 10, 40))
	draw.Draw(bar, image.Rect(3, 0, 7, 40), image.White, image.Point{}, draw.Src)
	all[1] = append(all[1], shapeOf(bar, image.Rect(2, 0, 8, 40), false))
	return all
})

// slant is how far slanting letters lean over, by their height.
const slant = 0.2

// drawnShape is a face's digit, upright or made to lean over to the right.
func drawnShape(f font.Face, r rune, lean float64) shape {
	img := image.NewGray(image.Rect(0, 0, 80, 80))
	d := font.Drawer{Dst: img, Src: image.NewUniform(color.White), Face: f, Dot: fixed.P(20, 60)}
	d.DrawString(string(r))
	for y := range 80 {
		by := int(math.Round(lean * float64(60-y)))
		row := img.Pix[y*img.Stride : y*img.Stride+80]
		if by > 0 {
			copy(row[by:], row[:80-by])
			clear(row[:by])
		}
	}
	return shapeOf(img, inkOf(img), false)
}

func inkOf(img *image.Gray) image.Rectangle {
	box := image.Rectangle{}
	for y := range img.Rect.Dy() {
		for x := range img.Rect.Dx() {
			if img.Pix[y*img.Stride+x] > 127 {
				box = box.Union(image.Rect(x, y, x+1, y+1))
			}
		}
	}
	return box
}

// barsOf are the bars of a seven-segment display that make a digit: top, upper
// right, lower right, foot, lower left, upper left, middle, as bits from the first.
var barsOf = [10]uint8{0b0111111, 0b0000110, 0b1011011, 0b1001111, 0b1100110, 0b1101101, 0b1111101, 0b0000111, 0b1111111, 0b1101111}

func barsShape(digit int) shape {
	const w, h, t = 24, 40, 5
	bars := [7]image.Rectangle{
		image.Rect(0, 0, w, t), image.Rect(w-t, 0, w, h/2), image.Rect(w-t, h/2, w, h), image.Rect(0, h-t, w, h),
		image.Rect(0, h/2, t, h), image.Rect(0, 0, t, h/2), image.Rect(0, h/2-t/2, w, h/2+t/2+1),
	}
	img := image.NewGray(image.Rect(0, 0, w, h))
	for i, b := range bars {
		if barsOf[digit]>>i&1 == 1 {
			draw.Draw(img, b, image.White, image.Point{}, draw.Src)
		}
	}
	return shapeOf(img, inkOf(img), false)
}

// likenesses compares a shape with every digit.
func likenesses(s *shape) (all [10]float64) {
	shapes := known()
	for d := range all {
		all[d] = -1
		for i := range shapes[d] {
			all[d] = max(all[d], s.likeness(&shapes[d][i]))
		}
	}
	return all
}

// mostLike is the digit that a shape is most like.
func mostLike(s *shape) (digit int, how float64) {
	all := likenesses(s)
	for d := range all {
		if all[d] > all[digit] {
			digit = d
		}
	}
	return digit, all[digit]
}
