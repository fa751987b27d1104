package frames

import "image"

// A matrix makes luma of red and blue (green is the rest), in the terms of ITU-R
// BT.601, BT.709 and BT.2020.
type matrix struct{ kr, kb float64 }

var (
	bt601  = matrix{0.299, 0.114}
	bt709  = matrix{0.2126, 0.0722}
	bt2020 = matrix{0.2627, 0.0593}
)

// matrix is what the part's pictures were made with.
func (p *Part) matrix() matrix {
	switch p.meaning().Space {
	case "bt709":
		return bt709
	case "bt2020nc", "bt2020c":
		return bt2020
	}
	return bt601
}

// conversion turns limited-range values of one matrix into full-range BT.601 ones, as
// JPEG has them (JFIF). Grey stays grey, so luma takes a share of the colour and
// nothing goes the other way. 16.16 fixed point.
type conversion struct {
	luma           [256]int32
	yb, yr         int32
	bb, br, rb, rr int32
}

func (m matrix) toJPEG() *conversion {
	// Colour difference of m in full range to red and blue less luma, to BT.601's.
	const chroma = 255.0 / 224
	fixed := func(f float64) int32 { return int32(f*65536*chroma + 0.5*sign(f)) }
	to := bt601
	redOf, blueOf := 2*(1-m.kr), 2*(1-m.kb) // R-Y for a unit of Cr, B-Y for a unit of Cb
	green := func(cb, cr float64) float64 { return -(m.kr*redOf*cr + m.kb*blueOf*cb) / (1 - m.kr - m.kb) }
	lumaOf := func(cb, cr float64) float64 { // what BT.601 adds to luma
		return to.kr*redOf*cr + to.kb*blueOf*cb + (1-to.kr-to.kb)*green(cb, cr)
	}
	cbOf := func(cb, cr float64) float64 { return (blueOf*cb - lumaOf(cb, cr)) / (2 * (1 - to.kb)) }
	crOf := func(cb, cr float64) float64 { return (redOf*cr - lumaOf(cb, cr)) / (2 * (1 - to.kr)) }
	c := &conversion{
		yb: fixed(lumaOf(1, 0)), yr: fixed(lumaOf(0, 1)),
		bb: fixed(cbOf(1, 0)), br: fixed(cbOf(0, 1)), rb: fixed(crOf(1, 0)), rr: fixed(crOf(0, 1)),
	}
	for v := range c.luma {
		c.luma[v] = int32((float64(v)-16)*255/219*65536) + 1<<15
	}
	return c
}

func sign(f float64) float64 {
	if f < 0 {
		return -1
	}
	return 1
}

// apply converts img in place.
func (c *conversion) apply(img *image.YCbCr) {
	width, height := img.Rect.Dx(), img.Rect.Dy()
	for r := range height / 2 {
		cbs, crs := img.Cb[r*img.CStride:][:width/2], img.Cr[r*img.CStride:][:width/2]
		above, below := img.Y[2*r*img.YStride:][:width], img.Y[(2*r+1)*img.YStride:][:width]
		for x := range cbs {
			cb, cr := int32(cbs[x])-128, int32(crs[x])-128
			shift := c.yb*cb + c.yr*cr
			for i := 2 * x; i < 2*x+2; i++ {
				above[i] = level(c.luma[above[i]] + shift)
				below[i] = level(c.luma[below[i]] + shift)
			}
			cbs[x] = level(c.bb*cb + c.br*cr + 128<<16 + 1<<15)
			crs[x] = level(c.rb*cb + c.rr*cr + 128<<16 + 1<<15)
		}
	}
}

func level(v int32) uint8 { return uint8(min(max(v>>16, 0), 255)) }
