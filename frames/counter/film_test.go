package counter_test

import (
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"math"
	"math/rand/v2"
	"testing"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/gobolditalic"
	"golang.org/x/image/font/gofont/gomedium"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"

	"pushcue/timeline/timecode"
)

// A film is strips with writing over something that moves, drawn here.
type film struct {
	texts []string
	face  font.Face
	look  look
	walls []float64     // where the background is, by strip
	drawn []*image.Gray // strips that were read already
}

// A look is how the writing is drawn.
type look struct {
	ttf     []byte
	size    float64
	outline bool
	boxed   bool
	luma    uint8
	noise   float64
	bright  uint8 // of the background, in the middle
}

var looks = map[string]look{
	"outlined":       {ttf: gobold.TTF, size: 24, outline: true, luma: 230, bright: 110},
	"boxed":          {ttf: gomono.TTF, size: 26, boxed: true, luma: 220, bright: 110},
	"bare, on noise": {ttf: gomedium.TTF, size: 22, luma: 235, noise: 9, bright: 105},
	"dark":           {ttf: gobold.TTF, size: 24, luma: 20, bright: 150},
	"mono":           {ttf: gomono.TTF, size: 26, outline: true, luma: 230, bright: 110},
	"slanting":       {ttf: gobolditalic.TTF, size: 26, outline: true, luma: 230, bright: 110},
}

const (
	filmWide, filmTall = 150, 36
	filmRate           = 5
)

func newFilm(t testing.TB, l look, texts []string) *film {
	t.Helper()
	parsed, err := opentype.Parse(l.ttf)
	if err != nil {
		t.Fatal(err)
	}
	face, err := opentype.NewFace(parsed, &opentype.FaceOptions{Size: l.size, DPI: 72, Hinting: font.HintingFull})
	if err != nil {
		t.Fatal(err)
	}
	f := &film{texts: texts, face: face, look: l, drawn: make([]*image.Gray, len(texts))}
	for i := range texts {
		f.walls = append(f.walls, 3*float64(i)+10*math.Sin(float64(i)/7))
	}
	return f
}

func (f *film) Bounds() image.Rectangle { return image.Rect(40, 200, 40+filmWide, 200+filmTall) }
func (f *film) Len() int                { return len(f.texts) }
func (f *film) At(i int) timecode.Video { return timecode.VideoSeconds(float64(i) / filmRate) }
func (f *film) Read(i int, into *image.Gray) error {
	if f.drawn[i] == nil {
		f.drawn[i] = image.NewGray(image.Rect(0, 0, filmWide, filmTall))
		f.draw(i, f.drawn[i])
	}
	draw.Draw(into, f.drawn[i].Rect, f.drawn[i], image.Point{}, draw.Src)
	return nil
}

func (f *film) draw(i int, into *image.Gray) {
	var across [filmWide]float64
	for x := range across {
		across[x] = float64(f.look.bright) + 35*math.Sin((float64(x)+f.walls[i])/17)
	}
	random := rand.New(rand.NewPCG(uint64(i), 5))
	for y := range filmTall {
		down := 20 * math.Cos((float64(y)-2*f.walls[i])/11)
		for x := range filmWide {
			v := across[x] + down
			if f.look.noise > 0 {
				v += f.look.noise * random.NormFloat64()
			}
			into.Pix[y*into.Stride+x] = uint8(min(max(v, 0), 255))
		}
	}
	if f.texts[i] == "" {
		return
	}
	if f.look.boxed {
		draw.Draw(into, image.Rect(8, 3, 8+14+font.MeasureString(f.face, f.texts[i]).Ceil(), filmTall-3), image.NewUniform(color.Gray{18}), image.Point{}, draw.Src)
	}
	write := func(dx, dy int, luma uint8) {
		d := font.Drawer{Dst: into, Src: image.NewUniform(color.Gray{luma}), Face: f.face, Dot: fixed.P(16+dx, 26+dy)}
		d.DrawString(f.texts[i])
	}
	if f.look.outline {
		for _, d := range [][2]int{{-2, 0}, {2, 0}, {0, -2}, {0, 2}, {-1, -1}, {1, -1}, {-1, 1}, {1, 1}} {
			write(d[0], d[1], 15)
		}
	}
	write(0, 0, f.look.luma)
}

// push is a person's push from a start, in metres, so many looks long: strokes,
// stops and some pulling back.
func push(start float64, looks int) []float64 {
	random := rand.New(rand.NewPCG(3, 9))
	var all []float64
	at, speed, left := start, 0.0, 8
	for range looks {
		if left--; left < 0 {
			left = 6 + random.IntN(14)
			speed = []float64{0, 0.15, 0.4, 0.6, 0.3, -0.25}[random.IntN(6)]
		}
		at = max(at+speed/filmRate, start)
		all = append(all, at)
	}
	return all
}

func written(format string, values []float64) (texts []string) {
	for _, v := range values {
		texts = append(texts, fmt.Sprintf(format, v))
	}
	return texts
}
