package frames

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// scene is a made picture: rings of a pipe with fine joints, blurred by radius.
func scene(width, height, radius int, gain float64) []uint8 {
	sharp := make([]float64, width*height)
	for y := range height {
		for x := range width {
			d := math.Hypot(float64(x-width/2), float64(y-height/2))
			v := 60 + d/4
			if int(d)%24 < 2 {
				v += 70
			}
			sharp[y*width+x] = v
		}
	}
	pix := make([]uint8, width*height)
	for y := range height {
		for x := range width {
			var sum, n float64
			for dx := -radius; dx <= radius; dx++ {
				if x+dx >= 0 && x+dx < width {
					sum += sharp[y*width+x+dx]
					n++
				}
			}
			pix[y*width+x] = uint8(min(max(sum/n*gain, 0), 255))
		}
	}
	return pix
}

func judged(pix []uint8, width, height int) score {
	var l luma
	reduce(pix, width, height, &l)
	return l.judge()
}

func TestSharperIsFitter(t *testing.T) {
	for _, size := range [][2]int{{320, 240}, {1280, 720}, {1920, 1080}} {
		w, h := size[0], size[1]
		last := math.Inf(1)
		for _, radius := range []int{0, 3, 8} {
			fit := judged(scene(w, h, radius, 1), w, h).fitness()
			if fit >= last {
				t.Errorf("%dx%d: blurred by %d it is %.1f, blurred less %.1f", w, h, radius, fit, last)
			}
			last = fit
		}
	}
}

func TestTooBrightAndTooDarkAreLessFit(t *testing.T) {
	right := judged(scene(640, 480, 0, 1), 640, 480).fitness()
	for _, gain := range []float64{0.08, 3.5} {
		if wrong := judged(scene(640, 480, 0, gain), 640, 480).fitness(); wrong*clearly >= right {
			t.Errorf("made %v times as bright it is %.1f, rightly exposed %.1f", gain, wrong, right)
		}
	}
}

func TestWritingInTheCornerHidesNoBlur(t *testing.T) {
	writing := func(pix []uint8) []uint8 {
		for y := range 40 {
			for x := range 200 {
				pix[(400+y)*640+20+x] = uint8(x / 3 % 2 * 255)
			}
		}
		return pix
	}
	sharp := judged(writing(scene(640, 480, 0, 1)), 640, 480).fitness()
	blurred := judged(writing(scene(640, 480, 5, 1)), 640, 480).fitness()
	if sharp < 2*blurred {
		t.Errorf("sharp %.1f, blurred %.1f: the writing decides", sharp, blurred)
	}
}

func TestMovementIsSeenAndFlickerIsNot(t *testing.T) {
	var a, b luma
	pix := scene(320, 240, 0, 1)
	reduce(pix, 320, 240, &a)
	brighter := make([]uint8, len(pix))
	moved := make([]uint8, len(pix))
	for i, v := range pix {
		brighter[i] = v + 20
		moved[i] = pix[(i+3)%len(pix)]
	}
	reduce(brighter, 320, 240, &b)
	if d := a.difference(&b); d > 0.5 {
		t.Errorf("a change of light counts as %.2f levels of movement", d)
	}
	reduce(moved, 320, 240, &b)
	if d := a.difference(&b); d < 3 {
		t.Errorf("3 pixels to the side count as %.2f levels", d)
	}
}

func TestReduceAverages(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	const w, h = 1282, 721 // neither divides evenly
	pix := make([]uint8, w*h)
	for i := range pix {
		pix[i] = uint8(random.UintN(256))
	}
	var l luma
	reduce(pix, w, h, &l)
	if l.width != 427 || l.height != 240 {
		t.Fatalf("reduced to %dx%d", l.width, l.height)
	}
	for range 100 {
		x, y := random.IntN(l.width), random.IntN(l.height)
		sum := 0
		for dy := range 3 {
			for dx := range 3 {
				sum += int(pix[(y*3+dy)*w+x*3+dx])
			}
		}
		if want := uint8((sum + 4) / 9); l.pix[y*l.width+x] != want {
			t.Fatalf("pixel %d,%d is %d, the mean is %d", x, y, l.pix[y*l.width+x], want)
		}
	}
}

func BenchmarkJudge(b *testing.B) {
	pix := scene(1280, 720, 0, 1)
	var l luma
	for b.Loop() {
		reduce(pix, 1280, 720, &l)
		l.judge()
	}
}

func TestHalvingGivesTheMeanOfFour(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for _, width := range []int{642, 1270, 1279, 1280} { // with and without pixels left over
		const height = 5
		y := make([]uint8, width*height)
		for i := range y {
			y[i] = uint8(random.IntN(256))
		}
		for i := range 4 * width / 3 { // and the extremes
			y[i] = uint8(255 * (i / 7 % 2))
		}
		var got luma
		reduce(y, width, height, &got)
		want := luma{width: width / 2, height: height / 2, pix: make([]uint8, width/2*(height/2))}
		squares(y, width, 2, &want)
		if got.width != want.width || got.height != want.height || !slices.Equal(got.pix, want.pix) {
			t.Errorf("%d wide: not the mean of each four pixels", width)
		}
	}
}
