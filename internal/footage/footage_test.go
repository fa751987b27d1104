package footage

import (
	"bytes"
	"hash/fnv"
	"image"
	"strings"
	"sync"
	"testing"

	"pushcue/internal/framenumber"
)

func small(scene Scene, rec Recorder) *Shoot {
	rec.Width, rec.Height = 160, 120
	if rec.Rate == 0 {
		rec.Rate = 5
	}
	shoot, err := NewShoot(scene, rec)
	if err != nil {
		panic(err)
	}
	return shoot
}

var house = sync.OnceValue(func() *Shoot { return small(House(1), Recorder{}) })

// again shoots House(1) with another recorder of the same size. Its wall, which takes
// most of the time, is made once.
func again(rec Recorder) *Shoot {
	p := *house()
	rec.Width, rec.Height, rec.Rate = 160, 120, 5
	if err := check(p.scene, &rec); err != nil {
		panic(err)
	}
	p.rec, p.truth = rec, newTruth(p.scene, rec)
	p.lens, p.grain = newLens(rec, p.scene.Pipe.Bore), newGrain(rec, seeded(p.scene, 1))
	p.frame, p.values = make([]byte, len(p.frame)), make([]uint16, len(p.values))
	return &p
}

// cramped is House with everything within three metres, where a wall is made sooner.
func cramped(seed uint64) Scene {
	s := House(seed)
	s.Pipe.Length /= 5
	for i := range s.Features {
		s.Features[i].From /= 5
		s.Features[i].To /= 5
	}
	for i := range s.Moves {
		s.Moves[i].To /= 5
	}
	return s
}

func sums(shoot *Shoot) []uint64 {
	var all []uint64
	for shoot.Next() {
		h := fnv.New64a()
		h.Write(shoot.Frame())
		all = append(all, h.Sum64())
	}
	return all
}

func TestSameSeedPaintsTheSame(t *testing.T) {
	look, _ := LookNamed("plain")
	rec := Recorder{From: 10, To: 14, Tape: 0.5, Counter: &Counter{Look: look}, Clock: &Clock{}}
	a, b := sums(small(cramped(3), rec)), sums(small(cramped(3), rec))
	if len(a) != 20 || !equal(a, b) {
		t.Errorf("two shoots of the same differ, or aren't 20 frames: %d", len(a))
	}
	if equal(a, sums(small(cramped(4), rec))) {
		t.Error("another seed paints the same")
	}
}

func equal(a, b []uint64) bool {
	for i := range a {
		if i >= len(b) || a[i] != b[i] {
			return false
		}
	}
	return len(a) == len(b)
}

func TestStandingCameraStands(t *testing.T) {
	// The picture changes by its noise alone while the head stands, and by far
	// more while it moves.
	shoot := again(Recorder{From: 22, To: 31})
	var last []byte
	var still, moving []float64
	for shoot.Next() {
		luma := shoot.Frame()[:160*120]
		frames := shoot.Truth().Frames
		if n := len(frames); last != nil {
			if frames[n-1].Stands && frames[n-2].Stands {
				still = append(still, difference(last, luma))
			} else if !frames[n-1].Stands && !frames[n-2].Stands {
				moving = append(moving, difference(last, luma))
			}
		}
		last = bytes.Clone(luma)
	}
	if len(still) < 20 || len(moving) < 10 {
		t.Fatalf("%d standing and %d moving frames", len(still), len(moving))
	}
	if s, m := mean(still), mean(moving); m < 1.8*s {
		t.Errorf("a moving picture changes by %.1f, a standing one by %.1f", m, s)
	}
}

func difference(a, b []byte) float64 {
	sum := 0
	for i := range a {
		sum += max(int(a[i])-int(b[i]), int(b[i])-int(a[i]))
	}
	return float64(sum) / float64(len(a))
}

func mean(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum / float64(len(v))
}

func TestCounterShows(t *testing.T) {
	scene := Scene{Pipe: Pipe{Length: 20, Bore: 0.1}, Moves: []Move{{10, 10}, {10, 10}, {5, 4}}}
	metres := Look{Face: "mono", Height: 24, Unit: "m", Decimals: 1, Pad: 3}
	for _, c := range []struct {
		name    string
		counter Counter
		at      float64
		want    string
	}{
		{"plain", Counter{Look: metres}, 15, "010.0m"},
		{"slipping", Counter{Look: metres, Slip: -0.02}, 15, "009.8m"},
		{"set to zero late", Counter{Look: metres, Zero: 1.5}, 0, "-001.5m"},
		{"set to zero again", Counter{Look: metres, Rezero: []float64{12}}, 15, "000.0m"},
		{"pulled back past its zero", Counter{Look: metres, Rezero: []float64{12}}, 25, "-006.0m"},
		{"late", Counter{Look: metres, Lag: 1}, 20.5, "010.0m"},
		{"hidden", Counter{Look: metres, Blank: [][2]float64{{14, 16}}}, 15, ""},
		{"feet", Counter{Look: Look{Unit: "ft", Feet: true, Decimals: 1}}, 15, "32.8ft"},
		{"comma", Counter{Look: Look{Decimals: 2, Comma: true}}, 15, "10,00"},
		{"whole", Counter{Look: Look{Unit: " m", Pad: 2}}, 15, "10 m"},
	} {
		if got := c.counter.Text(scene, c.at); got != c.want {
			t.Errorf("%s: shows %q, want %q", c.name, got, c.want)
		}
	}
}

func TestEveryLookIsWritten(t *testing.T) {
	const at = 7
	shoot := again(Recorder{From: at, To: at + 1})
	shoot.Next()
	bare := bytes.Clone(shoot.Frame())
	for _, look := range Looks {
		shoot.rec.Counter, shoot.marks = &Counter{Look: look}, nil
		if err := shoot.prepareMarks(); err != nil {
			t.Fatal(err)
		}
		copy(shoot.Frame(), bare)
		shoot.stampMarks(at)
		if bytes.Equal(shoot.Frame(), bare) {
			t.Errorf("%s leaves no mark", look.Name)
		}
		for _, r := range look.write(-12.34) + look.write(5) {
			if !strings.ContainsRune(signs, r) {
				t.Errorf("%s: no letter for %q", look.Name, r)
			}
		}
	}
}

func TestFramesCarryTheirNumber(t *testing.T) {
	for _, interlaced := range []bool{false, true} {
		shoot := again(Recorder{From: 5, To: 7, Numbers: true, Interlaced: interlaced})
		for want := 0; shoot.Next(); want++ {
			img := &image.Gray{Pix: shoot.Frame()[:160*120], Stride: 160, Rect: image.Rect(0, 0, 160, 120)}
			if n, ok := framenumber.Read(img); !ok || n != want {
				t.Fatalf("frame %d reads %d, %v", want, n, ok)
			}
		}
	}
}

func TestFieldsOfAFrameAreApart(t *testing.T) {
	shoot := again(Recorder{From: 20, To: 20.2, Interlaced: true, Grain: 0.01})
	shoot.Next()
	fields := bytes.Clone(shoot.Frame())
	frame := again(Recorder{From: 20, To: 20.2, Grain: 0.01})
	frame.Next()
	top, bottom := 0, 0
	for y := range 120 {
		d := difference(fields[y*160:(y+1)*160], frame.Frame()[y*160:(y+1)*160])
		if y%2 == 0 {
			top += int(d * 100)
		} else {
			bottom += int(d * 100)
		}
	}
	if bottom < 2*top {
		t.Errorf("lines of the second field are no later than those of the first: %d, %d", top, bottom)
	}
}

func TestDefectsAreSeenBeforeTheyArePassed(t *testing.T) {
	scene := House(1)
	for _, d := range scene.Defects() {
		if d.FirstSeen == nil || len(d.Dwells) == 0 {
			t.Errorf("%s at %g m: seen %v, dwelt on %v", d.What, d.From, d.FirstSeen, d.Dwells)
			continue
		}
		if at := scene.state(*d.FirstSeen).distance; at > d.From {
			t.Errorf("%s at %g m is first seen from %g m", d.What, d.From, at)
		}
	}
}

func TestWhatCannotBePaintedIsRefused(t *testing.T) {
	for name, rec := range map[string]Recorder{
		"no rate":  {Width: 160, Height: 120},
		"odd size": {Width: 161, Height: 120, Rate: 25},
		"no size":  {Rate: 25},
	} {
		if _, err := NewShoot(House(1), rec); err == nil {
			t.Errorf("%s: painted", name)
		}
	}
	if _, err := NewShoot(Scene{Pipe: Pipe{Length: 5, Bore: 0.1}, Moves: []Move{{5, 9}}}, Recorder{Width: 160, Height: 120, Rate: 25}); err == nil {
		t.Error("pushed past the end of the line")
	}
	bad := &Counter{Look: Look{Name: "odd", Face: "nosuch"}}
	if _, err := NewShoot(Scene{Pipe: Pipe{Length: 1, Bore: 0.1}, Moves: []Move{{5, 0.5}}}, Recorder{Width: 160, Height: 120, Rate: 25, Counter: bad}); err == nil {
		t.Error("wrote in a face that isn't there")
	}
}
