package frames

import (
	"context"
	"image"
	"io"
	"sync/atomic"
	"testing"
	"time"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/testfootage"
)

// every wants the exact frames first, first+step, ….
func every(r *Recording, first, step int, window time.Duration) (wants []Want) {
	for i := first; i < len(r.Times); i += step {
		wants = append(wants, Want{ID: i, At: r.Times[i], Window: window})
	}
	return wants
}

func fetch(t testing.TB, r *Recording, wants []Want) map[int]Still {
	t.Helper()
	got := map[int]Still{}
	err := Fetch(context.Background(), tools(t), r, wants, t.TempDir(), func(s Still) error {
		if _, twice := got[s.ID]; twice {
			t.Errorf("still %d came twice", s.ID)
		}
		got[s.ID] = s
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// picked takes stills from a run over the joined recording, as a burn does.
func picked(t testing.TB, r *Recording, wants []Want) map[int]Still {
	t.Helper()
	got := map[int]Still{}
	p := r.NewPicker(wants, t.TempDir())
	out := ffmpeg.OutputPipe([]*ff.Stream{p.Graph(r.Joined(false).Video)}, p.OutputArgs())
	_, err := tools(t).Do(context.Background(), ffmpeg.Run{Outputs: []*ff.Stream{out}, Stdout: func(in io.Reader) error {
		return p.Read(context.Background(), in, func(s Still) error { got[s.ID] = s; return nil })
	}})
	if err != nil {
		t.Fatal(err)
	}
	return got
}

func TestStillIsTheFrameWanted(t *testing.T) {
	var seen atomic.Int64
	for name, spec := range footage {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := open(t, testfootage.Numbered(t, spec))
			for how, take := range map[string]func(testing.TB, *Recording, []Want) map[int]Still{"by seeking": fetch, "in passing": picked} {
				wants := every(r, 0, 37, 0)
				wants = append(wants, Want{ID: len(r.Times) - 1, At: r.End}) // the very last
				got := take(t, r, wants)
				for _, w := range wants {
					s, ok := got[w.ID]
					if !ok {
						t.Errorf("%s: no still of frame %d", how, w.ID)
						continue
					}
					if n, ok := testfootage.ReadNumber(s.Picture); !ok || n != w.ID || s.Best != s.Exact || s.Exact.Index != w.ID {
						t.Errorf("%s: asked for frame %d, the still says %d and carries %d (%v)", how, w.ID, s.Best.Index, n, ok)
					}
					seen.Add(1)
				}
			}
		})
	}
}

// A log of hundreds of rows has as many stills, in one run or on one trip.
func TestHundredsOfStillsInOneRun(t *testing.T) {
	r := open(t, testfootage.Numbered(t, testfootage.Spec{Frames: 600, BFrames: 2}))
	wants := every(r, 1, 3, 0)
	for how, take := range map[string]func(testing.TB, *Recording, []Want) map[int]Still{"by seeking": fetch, "in passing": picked} {
		got := take(t, r, wants)
		for _, w := range wants {
			if n, ok := testfootage.ReadNumber(got[w.ID].Picture); !ok || n != w.ID {
				t.Fatalf("%s: the still of frame %d carries %d (%v)", how, w.ID, n, ok)
			}
		}
	}
}

func TestStillsFromSeveralParts(t *testing.T) {
	r := open(t,
		testfootage.Numbered(t, testfootage.Spec{BFrames: 2, GOP: 250, Frames: 100}),
		testfootage.Numbered(t, testfootage.Spec{Container: "avi", Codec: "mpeg4", BFrames: 2}),
		testfootage.Numbered(t, testfootage.Spec{Container: "ts", BFrames: 2, GOP: 60, Frames: 150, Rate: ntsc, Audio: true}))
	wants := every(r, 7, 31, 200*time.Millisecond)
	for id, s := range fetch(t, r, wants) {
		part := r.partOf(id)
		if r.partOf(s.Best.Index) != part {
			t.Errorf("the still of frame %d was taken in another part", id)
		}
		if n, _ := testfootage.ReadNumber(s.Picture); n != s.Best.Index-part.First {
			t.Errorf("the still says frame %d of its part and carries %d", s.Best.Index-part.First, n)
		}
	}
}

func TestBestStill(t *testing.T) {
	spec := testfootage.Spec{Frames: 100, Crf: 14, Blurred: []int{30, 31, 32, 33}, Bright: []int{50}, Dark: []int{70}}
	r := open(t, testfootage.Numbered(t, spec))
	for _, test := range []struct {
		name        string
		exact       int
		window      time.Duration
		least, most int
	}{
		{"out of focus: the nearest sharp one", 31, 200 * time.Millisecond, 26, 36},
		{"too bright: one beside it", 50, 80 * time.Millisecond, 48, 52},
		{"too dark: one beside it", 70, 80 * time.Millisecond, 68, 72},
	} {
		for how, take := range map[string]func(testing.TB, *Recording, []Want) map[int]Still{"by seeking": fetch, "in passing": picked} {
			s := take(t, r, []Want{{ID: 1, At: r.Times[test.exact], Window: test.window}})[1]
			if s.Best.Index == test.exact || s.Best.Index < test.least || s.Best.Index > test.most {
				t.Errorf("%s, %s: frame %d was taken", test.name, how, s.Best.Index)
			}
			if s.Moved().Abs() > test.window {
				t.Errorf("%s, %s: %v is outside the window", test.name, how, s.Moved())
			}
			if len(s.Why) == 0 {
				t.Errorf("%s, %s: it isn't said why", test.name, how)
			}
			if n, _ := testfootage.ReadNumber(s.Picture); n != s.Best.Index {
				t.Errorf("%s, %s: the still says frame %d and carries %d", test.name, how, s.Best.Index, n)
			}
		}
	}
	plain := picked(t, r, []Want{{ID: 1, At: r.Times[12], Window: 200 * time.Millisecond}})[1]
	if plain.Best != plain.Exact || len(plain.Why) != 0 {
		t.Errorf("among equals frame %d won over the exact one, 12: %v", plain.Best.Index, plain.Why)
	}
}

func TestPictureHasFullRange(t *testing.T) {
	r := open(t, testfootage.Numbered(t, testfootage.Spec{}))
	s := fetch(t, r, []Want{{ID: 1}})[1]
	low, high := uint8(255), uint8(0)
	for _, v := range s.Picture.(*image.YCbCr).Y {
		low, high = min(low, v), max(high, v)
	}
	if low > 8 || high < 247 { // black and white blocks, which limited range has at 16 and 235
		t.Errorf("the luma goes from %d to %d", low, high)
	}
}
