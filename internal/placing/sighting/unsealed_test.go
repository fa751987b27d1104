package sighting

import (
	"context"
	"errors"
	"fmt"
	"image"
	"image/color"
	"io"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"

	"pushcue/frames"
	"pushcue/frames/counter"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/progress"
	"pushcue/internal/reach"
	"pushcue/internal/testfootage"
	"pushcue/timeline"
	"pushcue/timeline/codes"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/words"
)

const (
	longLooks          = 960 // over three minutes
	longWide, longTall = 160, 120
)

// longPush is what a counter shows on a long push, look by look: strokes, stops, some pulling
// back, and set to zero once; and where the camera is, which goes on then.
func longPush() (texts []string, camera []float64) {
	random := rand.New(rand.NewPCG(3, 9))
	at, begun, speed, left := 0.3, 0.0, 0.0, 8
	for i := range longLooks {
		if left--; left < 0 {
			left = 6 + random.IntN(14)
			speed = []float64{0, 0.15, 0.4, 0.6, 0.3, -0.25}[random.IntN(6)]
		}
		at = max(at+speed/5, 0)
		if i == longLooks*3/5 {
			begun, at = begun+at, 0
		}
		camera = append(camera, begun+at)
		texts = append(texts, fmt.Sprintf("%05.1f", at))
	}
	return texts, camera
}

// longRecording has its numbers outlined over something that moves.
func longRecording(t *testing.T) string {
	return testfootage.Kept(t, "long-counter.mp4", "3", func(path string) error {
		parsed, err := opentype.Parse(gobold.TTF)
		if err != nil {
			return err
		}
		face, err := opentype.NewFace(parsed, &opentype.FaceOptions{Size: 24, DPI: 72, Hinting: font.HintingFull})
		if err != nil {
			return err
		}
		feed := func(into io.Writer) error {
			img := image.NewGray(image.Rect(0, 0, longWide, longTall))
			texts, camera := longPush()
			for i, text := range texts {
				wall := 60 * camera[i]
				for y := range longTall {
					for x := range longWide {
						img.Pix[y*img.Stride+x] = uint8(110 + 35*math.Sin((float64(x)+wall)/17) + 20*math.Cos((float64(y)-2*wall)/11))
					}
				}
				write := func(dx, dy int, luma uint8) {
					d := font.Drawer{Dst: img, Src: image.NewUniform(color.Gray{Y: luma}), Face: face, Dot: fixed.P(40+dx, 100+dy)}
					d.DrawString(text)
				}
				for _, d := range [][2]int{{-2, 0}, {2, 0}, {0, -2}, {0, 2}, {-1, -1}, {1, -1}, {-1, 1}, {1, 1}} {
					write(d[0], d[1], 15)
				}
				write(0, 0, 230)
				if _, err := into.Write(img.Pix); err != nil {
					return err
				}
			}
			return nil
		}
		return testfootage.Encode(context.Background(), feed, "-f", "rawvideo", "-pix_fmt", "gray", "-s", fmt.Sprintf("%dx%d", longWide, longTall), "-r", "5", "-i", "-",
			"-c:v", "libx264", "-preset", "ultrafast", "-crf", "20", "-g", "20", "-pix_fmt", "yuv420p", "-f", "mp4", path)
	})
}

// stepsSaid remembers what a watch was at.
type stepsSaid struct {
	progress.Quiet
	names []string
}

func (s *stepsSaid) Step(name words.Sentence, _ float64) { s.names = append(s.names, name.String()) }

// longWatch watches the long recording; by is whose seal it makes and knows.
func longWatch(t *testing.T, work, by string) (*Watch, *stepsSaid) {
	t.Helper()
	tools, err := ffmpeg.Find(t.Context(), ffmpeg.Where{Cache: ffmpeg.UserCache()})
	if err != nil {
		t.Fatal(err)
	}
	rec, err := frames.Open(t.Context(), tools, []*reach.Source{reach.Named(longRecording(t), "push.mp4")}, frames.Options{})
	if err != nil {
		t.Fatal(err)
	}
	said := &stepsSaid{}
	return &Watch{Tools: tools, Recording: rec, Sheet: jobsheet.Default(), Of: "its sum", Work: work, Progress: said,
		SealOver: func([]byte) string { return by },
		Seal:     func(seal string, _ []byte) bool { return seal == by }}, said
}

func lookAll(t *testing.T, w *Watch) (*Seen, []timeline.Warning) {
	t.Helper()
	s, warnings, err := w.Look(t.Context())
	if err != nil || len(s.Counters()) != 1 {
		t.Fatalf("%+v, %v, %v", s, warnings, err)
	}
	return s, warnings
}

func TestAReadingWithoutOurSealIsCheckedByAFewPictures(t *testing.T) {
	work := t.TempDir()
	w, said := longWatch(t, work, "another computer's")
	honest, _ := lookAll(t, w)
	if !slices.Equal(said.names, []string{"reading the counter"}) {
		t.Fatalf("steps %q", said.names)
	}
	samples := slices.Clone(honest.Groups[0].Counter.Samples)
	shows, _ := longPush()
	for i, s := range samples {
		if s.State != counter.Unread && s.Text != shows[i] {
			t.Fatalf("look %d is read as %s, it shows %s", i, s.Text, shows[i])
		}
	}
	w, said = longWatch(t, work, "ours")
	w.fresh = []byte("always the same")
	taken, warnings := lookAll(t, w)
	if len(warnings) > 0 || !slices.Equal(said.names, []string{"checking the counter's reading"}) || w.lookedAt*3 > longLooks {
		t.Errorf("%d looks, steps %q, %v", w.lookedAt, said.names, warnings)
	}
	if !slices.Equal(taken.Groups[0].Counter.Samples, samples) {
		t.Error("other readings")
	}
	if _, sealed := w.kept(); !sealed {
		t.Error("it isn't sealed anew")
	}
	t.Logf("%d of %d looks were taken", w.lookedAt, longLooks)

	write := func(s *counter.Sample, value float64) { s.Value, s.Text = value, fmt.Sprintf("%05.1f", value) }
	for name, forge := range map[string]func(i int, s *counter.Sample){
		"all shifted": func(_ int, s *counter.Sample) { write(s, math.Round(10*s.Value+20)/10) },
		"a sixth shifted": func(i int, s *counter.Sample) {
			if i >= 200 && i < 200+longLooks/6 {
				write(s, math.Round(10*s.Value+2)/10)
			}
		},
		"a reset invented": func(i int, s *counter.Sample) {
			if i >= 400 && i < 430 {
				write(s, float64((i-400)/10)/10)
			}
		},
		"read by a false model": func(_ int, s *counter.Sample) {
			swapped := strings.NewReplacer("3", "8", "8", "3").Replace(s.Text)
			if _, err := fmt.Sscan(swapped, &s.Value); err == nil {
				s.Text = swapped
			}
		},
	} {
		t.Run(name, func(t *testing.T) {
			forged := *honest
			row := *honest.Groups[0].Counter
			row.Samples = slices.Clone(samples)
			for i := range row.Samples {
				if row.Samples[i].State != counter.Unread {
					forge(i, &row.Samples[i])
				}
			}
			forged.Groups = []Alike{honest.Groups[0]}
			forged.Groups[0].Counter = &row
			for dice := range uint64(50) {
				var wrong *contradiction
				if err := w.heldAgainst(&forged.Groups[0], samples, rand.New(rand.NewPCG(1, dice))); !errors.As(err, &wrong) {
					t.Fatalf("dice %d: %v", dice, err)
				}
			}
			if name != "all shifted" {
				return
			}
			w.keepAs("another computer's", &forged)
			said.names = nil
			s, warnings := lookAll(t, w)
			if !slices.Equal(said.names, []string{"checking the counter's reading", "reading the counter"}) || !slices.Equal(s.Groups[0].Counter.Samples, samples) {
				t.Errorf("steps %q", said.names)
			}
			if len(warnings) != 1 || warnings[0].Code != codes.CounterReread {
				t.Errorf("warnings %v", warnings)
			}
		})
	}
}

// heldAgainst is the check of a claimed reading on a recording of which all pictures were read.
func (w *Watch) heldAgainst(claimed *Alike, shown []counter.Sample, random *rand.Rand) error {
	p, err := w.plan(claimed, random)
	if err != nil {
		return err
	}
	fresh, row := *claimed, *claimed.Counter
	row.Samples = nil
	for _, i := range p.numbers {
		row.Samples = append(row.Samples, shown[i])
	}
	fresh.Counter = &row
	return p.compare(claimed, fresh)
}

// keepAs keeps what was seen with another's seal.
func (w *Watch) keepAs(seal string, s *Seen) {
	other := *w
	other.SealOver = func([]byte) string { return seal }
	other.keep(s)
}
