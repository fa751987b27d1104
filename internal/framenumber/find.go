package framenumber

import (
	"image"
	"image/color"
)

// A plane is a picture's luma.
type plane struct {
	width, height int
	luma          []byte
}

func newPlane(img image.Image) *plane {
	b := img.Bounds()
	p := &plane{b.Dx(), b.Dy(), make([]byte, b.Dx()*b.Dy())}
	at := func(x, y int) byte { return color.GrayModel.Convert(img.At(x, y)).(color.Gray).Y }
	switch m := img.(type) {
	case *image.Gray:
		p.copyRows(m.Pix[m.PixOffset(b.Min.X, b.Min.Y):], m.Stride)
		return p
	case *image.YCbCr:
		p.copyRows(m.Y[m.YOffset(b.Min.X, b.Min.Y):], m.YStride)
		return p
	case *image.NRGBA: // green is the most of luma, and blocks are grey
		at = func(x, y int) byte { return m.Pix[m.PixOffset(x, y)+1] }
	case *image.RGBA:
		at = func(x, y int) byte { return m.Pix[m.PixOffset(x, y)+1] }
	}
	for y := range p.height {
		for x := range p.width {
			p.luma[y*p.width+x] = at(b.Min.X+x, b.Min.Y+y)
		}
	}
	return p
}

func (p *plane) copyRows(from []byte, stride int) {
	for y := range p.height {
		copy(p.luma[y*p.width:(y+1)*p.width], from[y*stride:])
	}
}

// marksAt finds as many runs of about the same length, white first and last, as
// there are cells; left and right are where they begin and end.
func (p *plane) marksAt(y int) (left, right int, ok bool) {
	row := p.luma[y*p.width : (y+1)*p.width]
	lo, hi := row[0], row[0]
	for _, v := range row {
		lo, hi = min(lo, v), max(hi, v)
	}
	if hi-lo < 60 {
		return 0, 0, false
	}
	level := (int(lo) + int(hi)) / 2
	starts := []int{0}
	for x := 1; x < len(row); x++ {
		if (int(row[x]) > level) != (int(row[x-1]) > level) {
			starts = append(starts, x)
		}
	}
	starts = append(starts, len(row))
	for i := 0; i+cells < len(starts); i++ {
		if int(row[starts[i]]) > level && even(starts[i:i+cells+1]) {
			return starts[i], starts[i+cells], true
		}
	}
	return 0, 0, false
}

// even tells whether the runs between successive starts are alike: within a
// pixel and a third of their mean.
func even(starts []int) bool {
	mean := float64(starts[len(starts)-1]-starts[0]) / float64(len(starts)-1)
	if mean < 2 {
		return false
	}
	for i := 1; i < len(starts); i++ {
		if d := float64(starts[i]-starts[i-1]) - mean; d > 1+mean/3 || d < -1-mean/3 {
			return false
		}
	}
	return true
}

// marksEnd returns the row after the last one that holds the same marks as row
// y; up to three damaged rows in between are let pass.
func (p *plane) marksEnd(y, left, right int) int {
	end := y + 1
	cell := (right - left) / cells
	for next := end; next < p.height && next < end+4; next++ {
		l, r, ok := p.marksAt(next)
		if ok && abs(l-left) <= cell/2 && abs(r-right) <= cell/2 {
			end = next + 1
		}
	}
	return end
}

// number reads the row of blocks that stands under marks from row top to end.
func (p *plane) number(top, end, left, right int) (int, bool) {
	high := end - top
	if high < 3 || end+high/2 >= p.height {
		return 0, false
	}
	level := 0
	for cell := range cells - 1 { // as many white as black
		level += p.mean(cell, top, end, left, right)
	}
	level /= cells - 1

	bits := 0
	for cell := range cells {
		bits = bits<<1 | b2i(p.mean(cell, end, end+high, left, right) > level)
	}
	n := bits >> (checkBits + 1)
	return n, bits&1 == 1 && bits>>1&(1<<checkBits-1) == check(n)
}

// mean is the mean luma of the inner half of a cell.
func (p *plane) mean(cell, top, end, left, right int) int {
	wide := right - left
	x0, x1 := left+(4*cell+1)*wide/(4*cells), left+(4*cell+3)*wide/(4*cells)
	y0, y1 := top+(end-top)/4, min(end-(end-top)/4, p.height)
	sum, count := 0, 0
	for y := y0; y < max(y1, y0+1); y++ {
		for x := x0; x < max(x1, x0+1); x++ {
			sum += int(p.luma[y*p.width+x])
			count++
		}
	}
	return sum / count
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}

func b2i(on bool) int {
	if on {
		return 1
	}
	return 0
}
