package frames

import (
	"context"
	"image"
	"testing"
	"time"

	"pushcue/internal/soak"
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
	return pass(t, r, false, wants...).stills
}

// veryLast wants the last frame, by the moment when the recording ends.
func veryLast(r *Recording) Want { return Want{ID: len(r.Times) - 1, At: r.End} }

// exact checks that there is a still of each frame wanted, and that it is that frame.
func exact(t *testing.T, wants []Want, got map[int]Still) {
	t.Helper()
	for _, w := range wants {
		s, ok := got[w.ID]
		if !ok {
			t.Errorf("no still of frame %d", w.ID)
			continue
		}
		if n, ok := testfootage.ReadNumber(s.Picture); !ok || n != w.ID || s.Best != s.Exact || s.Exact.Index != w.ID {
			t.Errorf("asked for frame %d, the still says %d and carries %d (%v)", w.ID, s.Best.Index, n, ok)
		}
	}
}

// Stills by seeking; those in passing are held to the same by TestTableAndPicturesAgree.
func TestStillIsTheFrameWanted(t *testing.T) {
	for _, name := range kinds(soak.On()) {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := shared(t, name)
			late := len(r.Times) * 3 / 4
			wants := []Want{{ID: late, At: r.Times[late]}, veryLast(r)}
			if soak.On() {
				wants = append(every(r, 0, 37, 0), veryLast(r))
			}
			exact(t, wants, fetch(t, r, wants))
		})
	}
}

// A log of hundreds of rows has as many stills, in one run or on one trip.
func TestHundredsOfStillsInOneRun(t *testing.T) {
	r := open(t, testfootage.Numbered(t, testfootage.Spec{Frames: 600, BFrames: 2, Width: 160, Height: 120}))
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

func TestBestStill(t *testing.T) {
	spec := testfootage.Spec{Frames: 100, Crf: 14, Blurred: []int{30, 31, 32, 33}, Bright: []int{50}, Dark: []int{70}}
	r := open(t, testfootage.Numbered(t, spec))
	tests := []struct {
		name        string
		exact       int
		window      time.Duration
		least, most int
	}{
		{"out of focus: the nearest sharp one", 31, 200 * time.Millisecond, 26, 36},
		{"too bright: one beside it", 50, 80 * time.Millisecond, 48, 52},
		{"too dark: one beside it", 70, 80 * time.Millisecond, 68, 72},
	}
	const amongEquals = 12
	wants := []Want{{ID: amongEquals, At: r.Times[amongEquals], Window: 200 * time.Millisecond}}
	for _, test := range tests {
		wants = append(wants, Want{ID: test.exact, At: r.Times[test.exact], Window: test.window})
	}
	for how, take := range map[string]func(testing.TB, *Recording, []Want) map[int]Still{"by seeking": fetch, "in passing": picked} {
		got := take(t, r, wants)
		for _, test := range tests {
			s := got[test.exact]
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
		if s := got[amongEquals]; s.Best != s.Exact || len(s.Why) != 0 {
			t.Errorf("%s: among equals frame %d won over the exact one, %d: %v", how, s.Best.Index, amongEquals, s.Why)
		}
	}
}

func TestPictureHasFullRange(t *testing.T) {
	r := shared(t, "avi, H.264")
	s := fetch(t, r, []Want{{ID: 1}})[1]
	low, high := uint8(255), uint8(0)
	for _, v := range s.Picture.(*image.YCbCr).Y {
		low, high = min(low, v), max(high, v)
	}
	if low > 8 || high < 247 { // black and white blocks, which limited range has at 16 and 235
		t.Errorf("the luma goes from %d to %d", low, high)
	}
}
