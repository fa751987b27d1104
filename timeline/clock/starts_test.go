package clock

import (
	"math"
	"testing"
	"time"

	"pushcue/timeline/timecode"
)

func TestFromStart(t *testing.T) {
	f := FromStart(recording(60, 10), logAt(131), 500*time.Millisecond, Options{Zone: time.UTC})
	placed(t, f, 131+1800, 0.5, 1800, 0.01)
	unplaced(t, f, 131+3700, 0.5, "11:03:51 is 1 min 40 s after the end of part 1, and nothing ties part 2 to the log: an anchor in it would")
	_, early, _ := f.Log(0)
	_, late, _ := f.Log(timecode.VideoSeconds(3599))
	if math.Abs(early.Seconds()-0.475) > 0.01 { // 95 % of ± 0.5 s
		t.Errorf("± %v at the start", early)
	}
	// An hour of two quartz clocks: 1.96 · 72 ppm · 3600 s = 0.51 s, with the start's own.
	if late < 580*time.Millisecond || late > 800*time.Millisecond {
		t.Errorf("± %v after an hour", late)
	}
}

func TestFromFileTimesIsWeak(t *testing.T) {
	second := logAt(900)
	f := FromFileTimes(recording(10, 10), []*timecode.Log{nil, &second}, time.Minute, Options{})
	if f.Basis != FileTimes || f.Segments[0].Tied || !f.Segments[1].Tied || !f.Segments[1].Weak {
		t.Errorf("%+v", f.Segments)
	}
	placed(t, f, 1000, 0.5, 700, 0.01)
	if _, half, _, _ := f.Video(logAt(1000), time.Second); half < 50*time.Second {
		t.Errorf("± %v from a time known to a minute", half)
	}
}

func TestFromStartsWithoutAny(t *testing.T) {
	for _, f := range []*Fit{FromStarts(recording(10), nil, Track, Options{}), FromStarts(nil, []Start{{Known: true}}, Track, Options{})} {
		unplaced(t, f, 1, 1, "nothing ties the log to the recording")
		if _, _, ok := f.Log(1); ok {
			t.Error("tied by nothing")
		}
	}
}

func TestVideoAndLogUndoEachOther(t *testing.T) {
	f := tie(t, recording(40, 50), at("a", 100, 5.5, 0.5), at("b", 2300, 2205.9, 0.5), at("c", 3000, 4000, 0.5))
	for v := timecode.Video(0); v < timecode.VideoSeconds(5400); v += timecode.VideoSeconds(17.3) {
		l, _, ok := f.Log(v)
		back, _, placed, _ := f.Video(l, 0)
		if !ok || !placed || max(back-v, v-back) > 1000 {
			t.Fatalf("%d ns -> %d -> %d ns", v, l, back)
		}
	}
}
