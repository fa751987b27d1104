package frames

import (
	"encoding/binary"
	"math"
)

// A score says how fit a picture is to be looked at for long.
type score struct {
	sharp float64 // variance of the Laplacian of the luma
	burnt float64 // share of pixels without detail: white or black
	mean  float64 // luma, 0 to 255
	moved float64 // mean difference to the neighbours shown just before and after, in levels
}

// luma is a picture's brightness made small: ITU-R BT.601 or BT.709 luma, as the
// recording has it, 16 (black) to 235 (white), averaged over squares of pixels.
type luma struct {
	width, height int
	pix           []uint8
}

// widest is the width that pictures are judged at: noise and the blocks of the
// coding are averaged away, what a person sees stays.
const widest = 640

func reduce(y []uint8, width, height int, into *luma) {
	step := max(1, (width+widest-1)/widest)
	into.width, into.height = width/step, height/step
	if need := into.width * into.height; cap(into.pix) < need {
		into.pix = make([]uint8, need)
	} else {
		into.pix = into.pix[:need]
	}
	switch step {
	case 1:
		for r := range into.height {
			copy(into.pix[r*into.width:(r+1)*into.width], y[r*width:])
		}
	case 2:
		for r := range into.height {
			halve(y[2*r*width:][:width], y[(2*r+1)*width:][:width], into.pix[r*into.width:][:into.width])
		}
	default:
		squares(y, width, step, into)
	}
}

// halve makes one row of two, four pixels of it at a time: most recordings are twice
// as wide as what they are judged at, and all pictures near a still pass through here.
func halve(above, below, into []uint8) {
	const (
		every  = 0x00ff00ff00ff00ff // every second byte, each with room to count above 255
		rounds = 0x0002000200020002
	)
	for len(into) >= 4 && len(above) >= 8 && len(below) >= 8 {
		a, b := binary.LittleEndian.Uint64(above), binary.LittleEndian.Uint64(below)
		mean := ((a&every + a>>8&every + b&every + b>>8&every + rounds) >> 2) & every
		into[0], into[1], into[2], into[3] = uint8(mean), uint8(mean>>16), uint8(mean>>32), uint8(mean>>48)
		above, below, into = above[8:], below[8:], into[4:]
	}
	for i := range into {
		into[i] = uint8((int(above[2*i]) + int(above[2*i+1]) + int(below[2*i]) + int(below[2*i+1]) + 2) / 4)
	}
}

// squares averages over squares of step by step pixels.
func squares(y []uint8, width, step int, into *luma) {
	sums := make([]uint32, into.width)
	area := uint32(step * step)
	for r := range into.height {
		clear(sums)
		for dy := range step {
			row := y[(r*step+dy)*width:][:into.width*step]
			for c := range sums {
				s := uint32(0)
				for _, v := range row[c*step : c*step+step] {
					s += uint32(v)
				}
				sums[c] += s
			}
		}
		out := into.pix[r*into.width:][:into.width]
		for c, s := range sums {
			out[c] = uint8((s + area/2) / area)
		}
	}
}

// judge measures a picture by itself.
func (l *luma) judge() score {
	var s score
	var sum, burnt int
	for _, v := range l.pix {
		sum += int(v)
		if v < 20 || v > 231 {
			burnt++
		}
	}
	n := float64(max(1, len(l.pix)))
	s.mean, s.burnt = (float64(sum)/n-16)*255/219, float64(burnt)/n
	s.sharp = l.laplacian()
	return s
}

// tiles that a picture's sharpness is measured in, across and down.
const tilesAcross, tilesDown = 8, 6

// laplacian is the variance of the four-neighbour Laplacian, a common measure of
// focus (common practice, no published source), as the geometric mean over tiles:
// what the recorder writes into a corner has the hardest edges of all, and says
// nothing of the pipe.
func (l *luma) laplacian() float64 {
	if l.width < 4*tilesAcross || l.height < 4*tilesDown {
		return l.variance(1, 1, l.width-1, l.height-1)
	}
	const grain = 4 // the variance that noise alone gives; less tells nothing
	var logs float64
	for r := range tilesDown {
		for c := range tilesAcross {
			v := l.variance(
				max(1, c*l.width/tilesAcross), max(1, r*l.height/tilesDown),
				min(l.width-1, (c+1)*l.width/tilesAcross), min(l.height-1, (r+1)*l.height/tilesDown))
			logs += math.Log(v + grain)
		}
	}
	return math.Exp(logs / (tilesAcross * tilesDown))
}

// variance of the Laplacian from (left, top) to before (right, bottom), all inside
// the picture's outermost pixels.
func (l *luma) variance(left, top, right, bottom int) float64 {
	if right <= left || bottom <= top {
		return 0
	}
	var sum, squares int64
	w, n := l.width, right-left
	for r := top; r < bottom; r++ {
		at := r*w + left
		above, below := l.pix[at-w:][:n], l.pix[at+w:][:n]
		before, here, after := l.pix[at-1:][:n], l.pix[at:][:n], l.pix[at+1:][:n]
		var rowSum, rowSquares int32 // a row of a tile is too short to overflow
		for c := range n {
			v := int32(above[c]) + int32(below[c]) + int32(before[c]) + int32(after[c]) - 4*int32(here[c])
			rowSum += v
			rowSquares += v * v
		}
		sum += int64(rowSum)
		squares += int64(rowSquares)
	}
	count := float64(n * (bottom - top))
	mean := float64(sum) / count
	return float64(squares)/count - mean*mean
}

// difference is the mean absolute difference of two pictures of one size, in
// levels, less what the whole picture got brighter or darker by.
func (l *luma) difference(other *luma) float64 {
	if len(l.pix) != len(other.pix) || len(l.pix) == 0 {
		return 0
	}
	const stride = 3 // a third of the pixels tells as much
	var sum, count, shift int64
	for i := 0; i < len(l.pix); i += stride {
		shift += int64(l.pix[i]) - int64(other.pix[i])
		count++
	}
	shift /= count
	for i := 0; i < len(l.pix); i += stride {
		d := int64(l.pix[i]) - int64(other.pix[i]) - shift
		if d < 0 {
			d = -d
		}
		sum += d
	}
	return float64(sum) / float64(count)
}

// fitness puts the measures together; only the ratio of two means something.
// Sharper is better, less detail lost to glare or darkness, steadier.
func (s score) fitness() float64 {
	exposed := max(1-s.burnt, 0.01) * (1.05 - off(s.mean))
	const noise = 2 // levels that a camera at rest changes by
	return max(s.sharp, 1e-3) * exposed * exposed / math.Cbrt(s.moved+noise)
}

// off is how far a mean brightness is from where detail is seen: 0 between a fifth
// and four fifths of the scale, 1 at its ends.
func off(mean float64) float64 {
	m := mean / 255
	return max(0, 0.2-m, m-0.8) * 5
}
