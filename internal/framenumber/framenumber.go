// Package framenumber writes a number into a picture as black and white blocks
// and reads it back, so that a test can tell which frame it was handed.
//
//	framenumber.Draw(luma, stride, width, height, 1234)
//	n, ok := framenumber.Read(img) // 1234, true
//
// The blocks stand in two rows across the middle of the picture: a row that
// alternates, by which they are found again after scaling, padding and heavy
// compression, and below it 24 bits of number, most significant first, 8 bits
// of check and one block that is always white.
//
// It doesn't find blocks that were turned, mirrored or cut.
package framenumber

import "image"

const (
	numberBits = 24
	checkBits  = 8
	cells      = numberBits + checkBits + 1

	// Max is the largest number that can be written.
	Max = 1<<numberBits - 1

	black, white = 24, 228 // inside the video range, so that nothing clips
)

// Rows returns where the blocks stand in a picture of the given height: the
// alternating row from top to middle, the number from middle to bottom.
func Rows(height int) (top, middle, bottom int) {
	return height * 3 / 8, height / 2, height * 5 / 8
}

// Draw writes n (0 to Max) into a plane of 8-bit luma.
func Draw(luma []byte, stride, width, height, n int) {
	top, middle, bottom := Rows(height)
	marks, number := make([]byte, width), make([]byte, width)
	for x := range width {
		cell := x * cells / width
		marks[x] = shade(cell%2 == 0)
		number[x] = shade(bit(n, cell))
	}
	for y := top; y < bottom; y++ {
		row := marks
		if y >= middle {
			row = number
		}
		copy(luma[y*stride:y*stride+width], row)
	}
}

// Read finds the blocks in img and returns their number; false when there are
// none, or when they were damaged.
func Read(img image.Image) (int, bool) {
	p := newPlane(img)
	for y := 0; y < p.height; y++ {
		left, right, ok := p.marksAt(y)
		if !ok {
			continue
		}
		end := p.marksEnd(y, left, right)
		if n, ok := p.number(y, end, left, right); ok {
			return n, true
		}
		y = end
	}
	return 0, false
}

func shade(on bool) byte {
	if on {
		return white
	}
	return black
}

// bit tells whether the given cell of n's row is white.
func bit(n, cell int) bool {
	switch {
	case cell < numberBits:
		return n>>(numberBits-1-cell)&1 == 1
	case cell < numberBits+checkBits:
		return check(n)>>(numberBits+checkBits-1-cell)&1 == 1
	default:
		return true
	}
}

// check is a CRC-8 of n with the polynomial x^8+x^2+x+1, begun so that a row of
// one colour isn't valid.
func check(n int) int {
	crc := 0xA5
	for shift := numberBits - 8; shift >= 0; shift -= 8 {
		crc ^= n >> shift & 0xFF
		for range 8 {
			crc <<= 1
			if crc&0x100 != 0 {
				crc ^= 0x107
			}
		}
	}
	return crc
}
