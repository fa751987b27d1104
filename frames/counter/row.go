package counter

import (
	"cmp"
	"image"
	"slices"

	"pushcue/timeline/timecode"
)

// A row is where the digits of a strip stand: between which lines, and whether
// they are darker than what is behind them. In pixels of the strip, enlarged.
type row struct {
	dark        bool
	top, bottom int
}

func (r row) height() int { return r.bottom - r.top }

// A sheet is the strips that a reader learns from, kept in memory: some hundred,
// spread over the recording.
type sheet struct {
	strips  []*image.Gray // as they are
	larger  []*image.Gray // enlarged, for cutting small letters apart
	index   []int         // number of each among all strips
	at      []timecode.Video
	enlarge int

	tried   bool
	cutting *cutting
}

const (
	sheetSize  = 320
	smallStrip = 40 // strips lower than this are enlarged before they are cut
)

func newSheet(s Strips) (*sheet, error) {
	b := s.Bounds()
	sh := &sheet{enlarge: 1}
	if b.Dy() < smallStrip {
		sh.enlarge = 2
	}
	for _, i := range spread(s.Len()) {
		img := image.NewGray(image.Rect(0, 0, b.Dx(), b.Dy()))
		if err := s.Read(i, img); err != nil {
			return nil, err
		}
		sh.strips = append(sh.strips, img)
		sh.larger = append(sh.larger, enlarged(img, sh.enlarge))
		sh.index = append(sh.index, i)
		sh.at = append(sh.at, s.At(i))
	}
	return sh, nil
}

// spread picks numbers below n in bursts of neighbours, which tell how the digits
// count, from all over.
func spread(n int) []int {
	const burst = 8
	var all []int
	if n <= sheetSize {
		for i := range n {
			all = append(all, i)
		}
		return all
	}
	for k := range sheetSize / burst {
		from := k * (n - burst) / (sheetSize/burst - 1)
		for i := range burst {
			all = append(all, from+i)
		}
	}
	return all
}

// enlarged doubles a picture, smoothly.
func enlarged(img *image.Gray, by int) *image.Gray {
	if by == 1 {
		return img
	}
	w, h := img.Rect.Dx(), img.Rect.Dy()
	out := image.NewGray(image.Rect(0, 0, 2*w, 2*h))
	for y := range 2 * h {
		// Pixel centres of the larger picture lie a quarter beside those of the smaller.
		y0, y1 := y/2, min(y/2+1, h-1)
		if y%2 == 0 {
			y1 = max(y/2-1, 0)
		}
		for x := range 2 * w {
			x0, x1 := x/2, min(x/2+1, w-1)
			if x%2 == 0 {
				x1 = max(x/2-1, 0)
			}
			a := 3 * (3*int(img.Pix[y0*img.Stride+x0]) + int(img.Pix[y0*img.Stride+x1]))
			b := 3*int(img.Pix[y1*img.Stride+x0]) + int(img.Pix[y1*img.Stride+x1])
			out.Pix[y*out.Stride+x] = uint8((a + b + 8) / 16)
		}
	}
	return out
}

// likelyDigit is the likeness from which a part is taken for a digit when the row
// is looked for.
const likelyDigit = 0.55

// findRow lets every part that looks like a digit vote for where the digits stand.
func (sh *sheet) findRow() (best row, found bool) {
	votes := map[row]*[10]float64{} // by digit
	var scratch partsScratch
	step := max(1, len(sh.larger)/40)
	for k := 0; k < len(sh.larger); k += step {
		img := sh.larger[k]
		for _, dark := range []bool{false, true} {
			for _, c := range cuts(dark) {
				for _, p := range parts(img, c, &scratch) {
					if !sh.digitSized(p) {
						continue
					}
					s := shapeOf(img, framed(p.box), dark)
					if digit, how := mostLike(&s); how > likelyDigit {
						at := row{dark, p.box.Min.Y, p.box.Max.Y}
						if votes[at] == nil {
							votes[at] = new([10]float64)
						}
						votes[at][digit] += how - likelyDigit/2
					}
				}
			}
		}
	}
	most := 0.0
	for r := range votes {
		var sums [10]float64
		for dt := -1; dt <= 1; dt++ {
			for db := -1; db <= 1; db++ {
				weight := 1.0
				if dt != 0 || db != 0 {
					weight = 0.6
				}
				if near := votes[row{r.dark, r.top + dt, r.bottom + db}]; near != nil {
					for d, v := range near {
						sums[d] += weight * v
					}
				}
			}
		}
		if sum := variedVotes(sums); sum > most || sum == most && (r.top < best.top || r.top == best.top && r.bottom < best.bottom) {
			best, most = r, sum
		}
	}
	return best, most > 6
}

// variedVotes counts votes for a row, up to so many times as there are digits among them:
// a unit's letter has strokes that look like a 1, and they are always there.
func variedVotes(votes [10]float64) float64 {
	const most = 4
	sum, squares := 0.0, 0.0
	for _, v := range votes {
		sum, squares = sum+v, squares+v*v
	}
	if squares == 0 {
		return 0
	}
	return sum * min(sum*sum/squares, most)
}

func (sh *sheet) digitSized(p part) bool {
	h, w := p.box.Dy(), p.box.Dx()
	return h >= 7*sh.enlarge && h <= 64*sh.enlarge && 12*w >= h && 5*w <= 6*h
}

// An instance is one digit as cut out of one strip.
type instance struct {
	strip  int // in the sheet
	left   float64
	right  float64 // in pixels of the strip, not enlarged
	shape  shape
	group  int
	centre float64
	level  cut
}

// A gap is what stands between two digits: a point, a colon, or nothing seen.
type mark struct {
	strip  int
	x      float64
	colon  bool
	height float64 // by that of the digits
}

// instances cuts every strip at the level at which most digits come out whole.
// Where two levels do about as well, the one that does best on the whole is taken,
// so that strokes are about as thick everywhere.
func (sh *sheet) instances(r row, levels []cut) (all []instance, marks []mark, bars []dash) {
	var scratch partsScratch
	walls := make([]wall, len(levels))
	for k, img := range sh.larger {
		var best, bestParts []part
		var level cut
		letters := img
		score := 0.0
		for n, c := range levels {
			clear := img
			if walls[n].hide(img, c, image.Rect(0, r.top-sh.off(r)-1, img.Rect.Dx(), r.bottom+sh.off(r)+1)); walls[n].there {
				clear = walls[n].paper
			}
			ps := parts(img, c, &scratch)
			digits, sum := sh.digits(r, clear, c, ps)
			if n == 0 {
				sum *= 1.1
			}
			if sum > score {
				best, bestParts, score, level, letters = digits, ps, sum, c, clear
			}
		}
		scale := float64(sh.enlarge)
		for _, p := range best {
			// All are scaled from the row's lines, so that no digit is stretched.
			box := framed(image.Rect(p.box.Min.X, r.top, p.box.Max.X, r.bottom))
			in := instance{strip: k, left: float64(p.box.Min.X) / scale, right: float64(p.box.Max.X) / scale, shape: inkShape(letters, box, level), level: level}
			in.centre = (in.left + in.right) / 2
			all = append(all, in)
		}
		if len(best) > 0 {
			marks = append(marks, sh.marks(k, r, best, bestParts)...)
			bars = append(bars, sh.dashes(k, r, level, best, bestParts)...)
		}
	}
	return all, marks, bars
}

// digits are those parts that stand in the row and may be digits, and how much
// like digits they are together.
func (sh *sheet) digits(r row, img *image.Gray, c cut, ps []part) (digits []part, sum float64) {
	off := sh.off(r)
	for _, p := range ps {
		if abs(p.box.Min.Y-r.top) > off || abs(p.box.Max.Y-r.bottom) > off || !sh.digitSized(p) {
			continue
		}
		s := inkShape(img, framed(p.box), c)
		if _, how := mostLike(&s); how > 0.25 {
			digits = append(digits, p)
			sum += max(how-0.3, 0.02) * max(how-0.3, 0.02) // whole letters count for more than as many pieces
		}
	}
	return digits, sum
}

// off is by how much a digit may be higher or lower than the row.
func (sh *sheet) off(r row) int { return max(sh.enlarge, r.height()/10) }

// bestLevels are the few levels that do best over some strips, the best first, and
// the one nearest to the letters' own brightness, for where the background is near it.
func (sh *sheet) bestLevels(r row) []cut {
	const few = 4
	var scratch partsScratch
	all := cuts(r.dark)
	sums := map[cut]float64{}
	for k := 0; k < len(sh.larger); k += max(1, len(sh.larger)/30) {
		for _, c := range all {
			_, sum := sh.digits(r, sh.larger[k], c, parts(sh.larger[k], c, &scratch))
			sums[c] += sum
		}
	}
	slices.SortStableFunc(all, func(a, b cut) int { return cmp.Compare(sums[b], sums[a]) })
	best := all[:few:few]
	extreme := best[0]
	for _, c := range all {
		if 3*sums[c] > sums[best[0]] && (c.level > extreme.level) != c.dark && c.level != extreme.level {
			extreme = c
		}
	}
	if !slices.Contains(best, extreme) {
		best[few-1] = extreme
	}
	return best
}

// marks finds points and colons between digits.
func (sh *sheet) marks(strip int, r row, digits, all []part) (marks []mark) {
	h := r.height()
	for _, p := range all {
		w, tall := p.box.Dx(), p.box.Dy()
		if 20*w > 9*h || p.box.Max.Y < r.bottom-h/3 && p.box.Min.Y > r.top+h/2 || p.box.Min.Y < r.top+h/8 {
			continue
		}
		x := float64(p.box.Min.X+p.box.Max.X) / 2
		if !between(digits, int(x), h) {
			continue
		}
		m := mark{strip: strip, x: x / float64(sh.enlarge), height: float64(tall) / float64(h)}
		switch {
		case tall*20 <= h*11 && p.box.Min.Y > r.top+h/2 && abs(p.box.Max.Y-r.bottom) <= h/3: // a comma goes below the line
		case p.pieces == 2 && tall*10 >= h*3 && tall*10 <= h*9 && p.area*4 < 3*w*tall && p.box.Max.Y <= r.bottom+h/8:
			m.colon = true
		default:
			continue
		}
		marks = append(marks, m)
	}
	return marks
}

func between(digits []part, x, h int) bool {
	left, right := false, false
	for _, d := range digits {
		left = left || d.box.Max.X <= x && x-d.box.Max.X < h
		right = right || d.box.Min.X >= x && d.box.Min.X-x < h
	}
	return left && right
}

func abs(v int) int { return max(v, -v) }
