package counter

import (
	"cmp"
	"image"
	"slices"
)

// A Survey finds where something is written. Of every pixel it keeps the mean of
// the brightness gradient: a moving pipe averages out, the edges of letters stay
// where they are and keep their direction.
type Survey struct {
	size     image.Point
	sx, sy   []int32 // sums of the gradient
	strength []int32 // sum of its size
	count    int
	last     []uint8 // a tiny picture of the one added last
}

// NewSurvey surveys pictures of one size.
func NewSurvey(size image.Point) *Survey {
	n := size.X * size.Y
	return &Survey{size: size, sx: make([]int32, n), sy: make([]int32, n), strength: make([]int32, n)}
}

// Add takes a picture into account. One that hardly differs from the last is left
// out, since a pipe that stands still has edges that stay, too.
func (s *Survey) Add(img *image.Gray) {
	small := tiny(img)
	if s.last != nil && change(small, s.last) < 3 {
		return
	}
	s.last = small
	s.count++
	w, h := s.size.X, s.size.Y
	for y := 1; y < h-1; y++ {
		row := img.Pix[y*img.Stride : y*img.Stride+w]
		above, below := img.Pix[(y-1)*img.Stride:], img.Pix[(y+1)*img.Stride:]
		for x := 1; x < w-1; x++ {
			gx, gy := int32(row[x+1])-int32(row[x-1]), int32(below[x])-int32(above[x])
			i := y*w + x
			s.sx[i] += gx
			s.sy[i] += gy
			s.strength[i] += max(gx, -gx) + max(gy, -gy)
		}
	}
}

// Pictures is how many differing pictures were added.
func (s *Survey) Pictures() int { return s.count }

// tiny is the picture in 24 by 18 means.
func tiny(img *image.Gray) []uint8 {
	const w, h = 24, 18
	small := make([]uint8, w*h)
	b := img.Rect
	for y := range h {
		for x := range w {
			sum, n := 0, 0
			for py := y * b.Dy() / h; py < (y+1)*b.Dy()/h; py += 2 {
				for px := x * b.Dx() / w; px < (x+1)*b.Dx()/w; px += 2 {
					sum += int(img.Pix[py*img.Stride+px])
					n++
				}
			}
			small[y*w+x] = uint8(sum / max(n, 1))
		}
	}
	return small
}

func change(a, b []uint8) float64 {
	sum := 0
	for i := range a {
		sum += max(int(a[i])-int(b[i]), int(b[i])-int(a[i]))
	}
	return float64(sum) / float64(len(a))
}

const (
	leastEdge    = 16 // levels that an edge of writing keeps on average
	steadiness   = 0.3
	mostRegions  = 12
	leastPicture = 4
)

// Regions are where lines of writing may be, the most likely first, with room
// around for what isn't always shown.
func (s *Survey) Regions() []image.Rectangle {
	if s.count < leastPicture {
		return nil
	}
	w, h := s.size.X, s.size.Y
	mask := make([]bool, w*h)
	weight := make([]float64, w*h)
	n := int32(s.count)
	for i := range mask {
		steady := max(s.sx[i], -s.sx[i]) + max(s.sy[i], -s.sy[i])
		if steady > leastEdge*n && float64(steady) > steadiness*float64(s.strength[i]) {
			mask[i] = true
			weight[i] = float64(steady) / float64(n)
		}
	}
	boxes := joined(spots(mask, w, h))
	boxes = slices.DeleteFunc(boxes, func(b image.Rectangle) bool {
		return b.Dy() < 7 || b.Dy() > h/4 || b.Dx() < b.Dy()*3/4
	})
	score := func(b image.Rectangle) (sum float64) {
		for y := b.Min.Y; y < b.Max.Y; y++ {
			for x := b.Min.X; x < b.Max.X; x++ {
				sum += weight[y*w+x]
			}
		}
		return sum
	}
	slices.SortFunc(boxes, func(a, b image.Rectangle) int { return cmp.Compare(score(b), score(a)) })
	boxes = boxes[:min(len(boxes), mostRegions)]
	for i, b := range boxes {
		beside := b.Dy()*3/2 + 8
		boxes[i] = image.Rect(b.Min.X-beside, b.Min.Y-5, b.Max.X+beside, b.Max.Y+5).Intersect(image.Rectangle{Max: s.size})
	}
	return boxes
}

// spots are the boxes round connected parts of a mask, pixels two apart counting
// as connected.
func spots(mask []bool, w, h int) []image.Rectangle {
	var boxes []image.Rectangle
	seen := make([]bool, len(mask))
	var stack []int
	for start, on := range mask {
		if !on || seen[start] {
			continue
		}
		seen[start] = true
		stack = append(stack[:0], start)
		box := image.Rectangle{}
		count := 0
		for len(stack) > 0 {
			i := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			x, y := i%w, i/w
			box = box.Union(image.Rect(x, y, x+1, y+1))
			count++
			for dy := -2; dy <= 2; dy++ {
				for dx := -2; dx <= 2; dx++ {
					px, py := x+dx, y+dy
					if px < 0 || py < 0 || px >= w || py >= h {
						continue
					}
					if j := py*w + px; mask[j] && !seen[j] {
						seen[j] = true
						stack = append(stack, j)
					}
				}
			}
		}
		if count >= 6 {
			boxes = append(boxes, box)
		}
	}
	return boxes
}

// joined merges boxes that stand beside each other on one line.
func joined(boxes []image.Rectangle) []image.Rectangle {
	for again := true; again; {
		again = false
		for i := 0; i < len(boxes) && !again; i++ {
			for j := i + 1; j < len(boxes); j++ {
				if beside(boxes[i], boxes[j]) {
					boxes[i] = boxes[i].Union(boxes[j])
					boxes = slices.Delete(boxes, j, j+1)
					again = true
					break
				}
			}
		}
	}
	return boxes
}

func beside(a, b image.Rectangle) bool {
	overlap := min(a.Max.Y, b.Max.Y) - max(a.Min.Y, b.Min.Y)
	gap := max(a.Min.X, b.Min.X) - min(a.Max.X, b.Max.X)
	tall := max(a.Dy(), b.Dy())
	return 2*overlap >= min(a.Dy(), b.Dy()) && gap <= min(tall, 40) && tall <= 3*min(a.Dy(), b.Dy())+4
}
