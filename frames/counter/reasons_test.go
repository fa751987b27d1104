package counter

import (
	"fmt"
	"image"
	"image/color"
	"slices"
	"strings"
	"testing"

	"golang.org/x/image/font/gofont/gobolditalic"
	"golang.org/x/image/font/opentype"

	"pushcue/timeline/distance"
	"pushcue/timeline/timecode"
)

// shown are readings five times a second; an empty text is one that wasn't read.
func shown(texts ...string) (samples []Sample) {
	for i, text := range texts {
		s := Sample{At: timecode.VideoSeconds(float64(i) / 5), Text: text}
		if _, err := fmt.Sscan(text, &s.Value); err == nil {
			s.State = AsShown
		}
		samples = append(samples, s)
	}
	return samples
}

func states(samples []Sample) (all string) {
	for _, s := range samples {
		all += [...]string{"-", "r", "f", "x"}[s.State]
	}
	return all
}

// pushed is a number that goes on by a tenth from one look to the next.
func pushed(from float64, looks int) (texts []string) {
	for i := range looks {
		texts = append(texts, fmt.Sprintf("%.1f", from+float64(i)/10))
	}
	return texts
}

func TestReadingsNoCableReachedAreThrownOut(t *testing.T) {
	r := &reader{grid: grid{decimals: 1}}
	for name, c := range map[string]struct {
		texts []string
		want  string
	}{
		"all in reach":                 {[]string{"1.0", "1.1", "1.2"}, "rrr"},
		"one misread":                  {[]string{"1.0", "1.1", "7.2", "1.2", "1.3"}, "rrxrr"},
		"a digit ahead lost a while":   {[]string{"19.8", "19.9", "10.0", "10.1", "20.2", "20.3", "20.4"}, "rrxxrrr"},
		"set to zero and gone on":      {[]string{"8.1", "8.2", "0.0", "0.1", "0.2"}, "rrrrr"},
		"a zero alone is no new zero":  {[]string{"8.1", "8.2", "0.0", "8.3", "8.4"}, "rrxrr"},
		"paused and gone on elsewhere": {slices.Concat(pushed(1, 40), pushed(7.4, 30)), strings.Repeat("r", 70)},
		"elsewhere, but not for long":  {slices.Concat(pushed(1, 40), pushed(7.4, 20)), strings.Repeat("r", 40) + strings.Repeat("x", 20)},
		"elsewhere by whole tens":      {slices.Concat(pushed(11, 40), pushed(5, 30)), strings.Repeat("r", 40) + strings.Repeat("x", 30)},
		"elsewhere, where it stands":   {slices.Concat(pushed(1, 40), slices.Repeat([]string{"7.4"}, 30)), strings.Repeat("r", 40) + strings.Repeat("x", 30)},
	} {
		samples := shown(c.texts...)
		r.throwOut(samples, Options{Unit: distance.Metre})
		if got := states(samples); got != c.want {
			t.Errorf("%s: %s, want %s", name, got, c.want)
		}
	}
}

func TestSignIsDoubtedWhereTheNumberTurnsAtZero(t *testing.T) {
	r := &reader{grid: grid{decimals: 1}}
	for name, c := range map[string]struct {
		texts []string
		want  string
	}{
		"down to zero and straight up": {[]string{"0.3", "0.2", "0.1", "0.0", "0.1", "0.2", "0.3", "0.4"}, "-" + "--rrrrr"},
		"there in strokes":             {[]string{"0.5", "0.4", "0.4", "0.6", "0.6", "0.4", "0.2", "0.0", "0.1", "0.3"}, strings.Repeat("-", 7) + "rrr"},
		"past zero between two looks":  {[]string{"0.7", "0.4", "0.1", "0.2", "0.5", "0.8"}, "--rrrr"},
		"set to zero":                  {[]string{"8.0", "8.1", "8.2", "0.0", "0.1", "0.2"}, "rrrrrr"},
		"back from afar":               {slices.Concat([]string{"17.0", "16.0"}, []string{"0.3", "0.2", "0.1", "0.0", "0.1", "0.2"}), "rrrrrrrr"},
		"down to zero, and the end":    {[]string{"0.3", "0.2", "0.1", "0.0"}, "rrrr"},
		"a stand at zero":              {[]string{"0.4", "0.3", "0.0", "0.0", "0.0", "0.0", "0.0", "0.0", "0.0", "0.0", "0.0", "0.3"}, "rrrrrrrrrrrr"},
		"never near zero":              {[]string{"1.3", "1.2", "1.3"}, "rrr"},
	} {
		samples := shown(c.texts...)
		r.doubtSigns(samples)
		if got := states(samples); got != c.want {
			t.Errorf("%s: %s, want %s", name, got, c.want)
		}
	}
}

func TestSixtiesAreTimes(t *testing.T) {
	for name, c := range map[string]struct {
		texts []string
		want  bool
	}{
		"from 59 on at 00": {[]string{"58.57", "58.58", "58.59", "59.00", "59.01"}, true},
		"through 60":       {[]string{"58.57", "58.60", "58.99", "59.00"}, false},
		"never that far":   {[]string{"3.10", "3.20", "3.30"}, false},
	} {
		if got := sixties(shown(c.texts...), 2); got != c.want {
			t.Errorf("%s: %v", name, got)
		}
	}
}

// A cable goes by fits and starts, a clock straight on.
func TestWhatRunsStraightOnIsAClock(t *testing.T) {
	var strokes []string
	for i := range 100 {
		strokes = append(strokes, fmt.Sprintf("%.1f", float64(i/20)+min(1, float64(i%20)/8)))
	}
	for name, c := range map[string]struct {
		texts []string
		want  bool
	}{
		"tenths of a second": {pushed(3, 100), true},
		"strokes and stops":  {strokes, false},
		"standing":           {slices.Repeat([]string{"4.0"}, 100), false},
		"too short to tell":  {pushed(3, 12), false},
	} {
		if got := steady(shown(c.texts...)); got != c.want {
			t.Errorf("%s: %v", name, got)
		}
	}
}

func TestStripsToLearnFromComeFromAllOver(t *testing.T) {
	for _, n := range []int{0, 7, sheetSize, sheetSize + 1, 450, 36_000} {
		all := spread(n)
		if len(all) != min(n, sheetSize) || n > 0 && (all[0] != 0 || all[len(all)-1] != n-1) {
			t.Errorf("of %d: %d strips", n, len(all))
		}
		for i := 1; i < len(all); i++ {
			if i%8 != 0 && all[i] != all[i-1]+1 {
				t.Fatalf("of %d: strip %d follows %d within a burst", n, all[i], all[i-1])
			}
			if gap := all[i] - all[i-1]; gap > 2*n/(sheetSize/8) && n > sheetSize {
				t.Fatalf("of %d: none between %d and %d", n, all[i-1], all[i])
			}
		}
	}
}

func TestPitchOfDigitsAsWideAsTheyAreTall(t *testing.T) {
	many := func(v float64) (all []float64) {
		for range 40 {
			all = append(all, v)
		}
		return all
	}
	for name, c := range map[string]struct {
		near, apart       []float64
		alone, tall, want float64
	}{
		"bold and wide":                 {many(24), many(36), 23, 25, 24},
		"slim":                          {many(15), many(22), 14, 25, 15},
		"a point between all there are": {nil, many(27), 16, 25, 16},
	} {
		if got := pitchOf(c.near, c.apart, c.alone, c.tall); got < c.want-0.1 || got > c.want+0.1 {
			t.Errorf("%s: %.1f, want %.1f", name, got, c.want)
		}
	}
}

func TestABrightWallIsNoPartOfALetter(t *testing.T) {
	letter := part{box: image.Rect(20, 10, 32, 30), area: 100, pieces: 1}
	for name, c := range map[string]struct {
		other part
		want  int
	}{
		"wall beside and above":    {part{box: image.Rect(18, 0, 90, 40), pieces: 1}, 2},
		"upper half of the letter": {part{box: image.Rect(20, 2, 32, 9), pieces: 1}, 1},
		"next letter":              {part{box: image.Rect(34, 10, 46, 30), pieces: 1}, 2},
	} {
		if got := stacked([]part{letter, c.other}); len(got) != c.want {
			t.Errorf("%s: %d parts, want %d", name, len(got), c.want)
		}
	}
}

// knowing is a reader of one digit and one decimal that knows the signs of some digits.
func knowing(digits ...int) *reader {
	r := &reader{grid: grid{pitch: 10, whole: 1, decimals: 1}}
	for place := range 2 {
		r.places = append(r.places, cellAt{10 * place, 10*place + 10, 0, 16})
	}
	r.layout = []layout{{whole: 1, places: []int{0, 1}}}
	for _, d := range digits {
		r.signs = append(r.signs, sign{model: &model{known: true, usual: 0.98, least: 0.8}, digit: d, sure: 20})
	}
	return r
}

// sees is a view in which each place matches the digits as told.
func (r *reader) sees(places ...map[int]float32) *view {
	v := &view{make([]float32, len(r.places)*len(r.signs)), make([]float32, 1)}
	for p, matches := range places {
		for i, s := range r.signs {
			v.matches[p*len(r.signs)+i] = matches[s.digit]
		}
	}
	return v
}

func TestUnsureStripIsReadByWhatTheCableReached(t *testing.T) {
	all := []int{0, 1, 2, 3, 4, 5, 6, 7, 8, 9}
	four := map[int]float32{4: 0.97, 1: 0.5}
	for name, c := range map[string]struct {
		known []int
		last  map[int]float32
		want  string
	}{
		"plainly a 7":                          {all, map[int]float32{7: 0.97, 2: 0.7}, "4.7"},
		"as well a 2 as a 7":                   {all, map[int]float32{7: 0.9, 2: 0.9}, ""},
		"somewhat like a 7, 2 never made out":  {[]int{0, 1, 3, 4, 5, 6, 7, 8, 9}, map[int]float32{7: 0.75, 1: 0.4}, ""},
		"plainly a 7, 2 never made out":        {[]int{0, 1, 3, 4, 5, 6, 7, 8, 9}, map[int]float32{7: 0.97, 1: 0.4}, "4.7"},
		"not like a 7, and the others far off": {all, map[int]float32{7: 0.45, 2: 0.1}, ""},
		"somewhat like a 7, a little like a 2": {all, map[int]float32{7: 0.72, 2: 0.69}, ""},
		"somewhat like a 7, and like no other": {all, map[int]float32{7: 0.78, 2: 0.2}, "4.7"},
	} {
		r := knowing(c.known...)
		at := func(seconds, value float64) *Sample {
			return &Sample{At: timecode.VideoSeconds(seconds), Value: value, State: AsShown}
		}
		s := at(0.2, 0)
		s.State = Unread
		r.fillOne(s, r.sees(four, c.last), at(0, 4.4), at(0.4, 4.9), distance.Cable{Fastest: 5, Step: 0.1})
		if s.Text != c.want {
			t.Errorf("%s: %q, want %q", name, s.Text, c.want)
		}
	}
}

func TestAWallIsTakenOffAroundALetterAndInItsHole(t *testing.T) {
	img := image.NewGray(image.Rect(0, 0, 40, 20))
	fill := func(r image.Rectangle, v uint8) {
		for y := r.Min.Y; y < r.Max.Y; y++ {
			for x := r.Min.X; x < r.Max.X; x++ {
				img.SetGray(x, y, color.Gray{Y: v})
			}
		}
	}
	ring := image.Rect(14, 4, 26, 16) // over the edge of a bright wall, each with an outline
	fill(image.Rect(10, 0, 40, 20), 230)
	fill(ring.Inset(-1), 10)
	fill(ring, 220)
	fill(ring.Inset(2), 10)
	fill(ring.Inset(3), 230)
	w := &wall{}
	w.hide(img, cut{level: 120}, image.Rect(0, 1, 40, 19))
	if !w.there {
		t.Fatal("no wall found")
	}
	for name, c := range map[string]struct {
		at            image.Point
		paper, filled bool // ink there
	}{
		"letter":    {image.Pt(15, 10), true, true},
		"its hole":  {image.Pt(20, 10), false, false},
		"the wall":  {image.Pt(35, 10), false, true},
		"dark pipe": {image.Pt(5, 10), false, false},
	} {
		if paper, filled := w.ink(w.paper.GrayAt(c.at.X, c.at.Y).Y), w.ink(w.filled.GrayAt(c.at.X, c.at.Y).Y); paper != c.paper || filled != c.filled {
			t.Errorf("%s: ink %v, with the wall %v", name, paper, filled)
		}
	}
	if w.shows(cellAt{0, 8, 2, 18}) || !w.shows(cellAt{30, 38, 2, 18}) {
		t.Error("the wall is looked for where it isn't")
	}
	fill(image.Rect(10, 0, 13, 20), 10)
	fill(image.Rect(27, 0, 40, 20), 10)
	fill(image.Rect(10, 0, 40, 3), 10)
	fill(image.Rect(10, 17, 40, 20), 10)
	if w.hide(img, cut{level: 120}, image.Rect(0, 1, 40, 19)); w.there {
		t.Error("a wall found where none is")
	}
}

func TestStrokesThatAreAlwaysThereAreNoRowOfDigits(t *testing.T) {
	legs, digits := variedVotes([10]float64{1: 100}), variedVotes([10]float64{10, 10, 10, 5, 5, 5, 5, 1, 1, 1})
	if legs >= digits {
		t.Errorf("a letter's legs have %.0f votes, digits %.0f", legs, digits)
	}
}

func TestSlantingDigitsAreKnown(t *testing.T) {
	parsed, err := opentype.Parse(gobolditalic.TTF)
	if err != nil {
		t.Fatal(err)
	}
	face, err := opentype.NewFace(parsed, &opentype.FaceOptions{Size: 30, DPI: 72})
	if err != nil {
		t.Fatal(err)
	}
	for digit := range 10 {
		s := drawnShape(face, rune('0'+digit), 0)
		if got, how := mostLike(&s); got != digit || how < 0.7 {
			t.Errorf("%d taken for %d, with a likeness of %.2f", digit, got, how)
		}
	}
}

// An f and a t as wide as digits seem to be some; digits that seem the same stand elsewhere.
func TestUnitsLettersThatSeemDigitsAreTakenOff(t *testing.T) {
	const f, tee, otherTee = 10, 11, 12 // groups; 0 to 9 are the digits'
	seem := func(in instance) int {
		switch in.group {
		case f:
			return 3
		case tee, otherTee:
			return 1
		}
		return in.group
	}
	for name, c := range map[string]struct {
		ends    func(strip int) []int // groups behind two digits that count up
		letters int
	}{
		"a unit":                    {func(int) []int { return []int{f, tee} }, 2},
		"a letter in two shapes":    {func(i int) []int { return []int{f, tee + i/70} }, 2},
		"one that is often lost":    {func(i int) []int { return []int{f, tee}[:1+i%2] }, 0},
		"digits only":               {func(i int) []int { return []int{(i * 7) % 10} }, 0},
		"a place that stands a lot": {func(i int) []int { return []int{max(0, i-70) % 10} }, 0},
	} {
		lines := map[int][]instance{}
		for i := range 100 {
			for k, group := range append([]int{i / 10, i % 10}, c.ends(i)...) {
				lines[i] = append(lines[i], instance{strip: i, group: group, left: 10 * float64(k), centre: 10*float64(k) + 4})
			}
		}
		before := len(lines[0])
		dropLetters(lines, seem)
		if off := before - len(lines[0]); off != c.letters {
			t.Errorf("%s: %d letters were taken off, want %d", name, off, c.letters)
		}
	}
}

// TestLastPlaceIsKnownThoughTheCameraStands: one digit is shown for most of the time.
func TestLastPlaceIsKnownThoughTheCameraStands(t *testing.T) {
	standing := map[int]int{1: 140, 2: 4, 3: 4, 5: 3, 6: 4, 7: 3}
	letter := map[int]int{1: 150, 7: 6, 4: 2}
	if !changing(standing) || changing(letter) {
		t.Errorf("standing %v, letter %v", changing(standing), changing(letter))
	}
}

// TestALineIsHeldAgainstThePicture: a counter changes while the camera moves; a bit late, and
// not always.
func TestALineIsHeldAgainstThePicture(t *testing.T) {
	for name, c := range map[string]struct {
		moves func(i int) bool
		doubt bool
	}{
		"with it":            {func(i int) bool { return i%40 < 20 }, false},
		"half a second late": {func(i int) bool { return (i+2)%40 < 20 }, false},
		"against it":         {func(i int) bool { return i%40 >= 20 }, true},
		"never still":        {func(int) bool { return true }, true},
	} {
		l := &Line{Kind: Length}
		var motion []float64
		for i := range 400 {
			l.Samples = append(l.Samples, Sample{State: AsShown, Value: float64(i/40) + min(float64(i%40), 20)/20})
			if motion = append(motion, 1); c.moves(i) {
				motion[i] = 6
			}
		}
		if l.Follow(motion); l.Doubt.Empty() == c.doubt {
			t.Errorf("%s: doubt %q", name, l.Doubt)
		}
	}
}
