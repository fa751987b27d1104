package overlay

import (
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"pushcue/timeline"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
)

// pushed is a timeline of n frames at 10 a second, an observation at each frame
// given. Lead is 1 s, tail 2 s.
func pushed(n int, at ...int) *timeline.Timeline {
	t := &timeline.Timeline{Sheet: &jobsheet.Sheet{Clips: jobsheet.Clips{Lead: time.Second, Tail: 2 * time.Second}}}
	t.Recording.Frames, t.Recording.End = steady(n, 10, 1)
	t.Recording.Parts = []timeline.Part{{}}
	t.ShowTo = t.Recording.End
	for i, frame := range at {
		t.Observations = append(t.Observations, timeline.Observation{Number: i + 1, Frame: frame, Video: t.Recording.Frames[frame]})
	}
	return t
}

func TestExcerpts(t *testing.T) {
	tenth := timecode.Video(100 * time.Millisecond)
	stretch := func(tl *timeline.Timeline, o, frame int) *timeline.Timeline {
		end := tl.Recording.Frames[frame]
		tl.Observations[o].VideoEnd = &end
		return tl
	}
	for _, c := range []struct {
		name   string
		t      *timeline.Timeline
		want   []Excerpt
		ranges []Range
		keys   []timecode.Video
	}{
		{"none", pushed(100), nil, nil, nil},
		{"one", pushed(100, 50), []Excerpt{{Observation: 1, First: 40, Last: 70, Count: 31}}, []Range{{40, 70}}, []timecode.Video{0}},
		{"at the start and the end", pushed(100, 3, 95),
			[]Excerpt{{Observation: 1, First: 0, Last: 23, Count: 24}, {Observation: 2, First: 85, Last: 99, From: 24 * tenth, Count: 15}},
			[]Range{{0, 23}, {85, 99}}, []timecode.Video{0, 24 * tenth}},
		{"overlapping", pushed(100, 30, 40),
			[]Excerpt{{Observation: 1, First: 20, Last: 50, Count: 31}, {Observation: 2, First: 30, Last: 60, From: 10 * tenth, Count: 31}},
			[]Range{{20, 60}}, []timecode.Video{0, 10 * tenth, 31 * tenth}},
		{"end to end", pushed(100, 30, 61),
			[]Excerpt{{Observation: 1, First: 20, Last: 50, Count: 31}, {Observation: 2, First: 51, Last: 81, From: 31 * tenth, Count: 31}},
			[]Range{{20, 81}}, []timecode.Video{0, 31 * tenth}},
		{"two at once", pushed(100, 30, 30),
			[]Excerpt{{Observation: 1, First: 20, Last: 50, Count: 31}, {Observation: 2, First: 20, Last: 50, Count: 31}},
			[]Range{{20, 50}}, []timecode.Video{0}},
		{"a short stretch, whole", stretch(pushed(400, 30), 0, 130),
			[]Excerpt{{Observation: 1, First: 20, Last: 150, Count: 131}}, []Range{{20, 150}}, []timecode.Video{0}},
		{"a long stretch, both ends", stretch(pushed(900, 30), 0, 530),
			[]Excerpt{{Observation: 1, First: 20, Last: 50, Count: 31}, {Observation: 1, End: true, First: 520, Last: 550, From: 31 * tenth, Count: 31}},
			[]Range{{20, 50}, {520, 550}}, []timecode.Video{0, 31 * tenth}},
		{"not across parts", twoParts(pushed(100, 45, 55), 50),
			[]Excerpt{{Observation: 1, First: 35, Last: 49, Count: 15}, {Observation: 2, First: 50, Last: 75, From: 15 * tenth, Count: 26}},
			[]Range{{35, 75}}, []timecode.Video{0, 15 * tenth}},
		{"within what is shown", shown(pushed(100, 45), 42, 50),
			[]Excerpt{{Observation: 1, First: 42, Last: 49, Count: 8}}, []Range{{42, 49}}, []timecode.Video{0}},
		{"a hidden one", hidden(pushed(100, 10, 60), 0),
			[]Excerpt{{Observation: 2, First: 50, Last: 80, Count: 31}}, []Range{{50, 80}}, []timecode.Video{0}},
	} {
		f := PlanFindings(c.t)
		if !slices.Equal(f.Excerpts, c.want) {
			t.Errorf("%s: excerpts %+v, want %+v", c.name, f.Excerpts, c.want)
		}
		if !slices.Equal(f.Ranges, c.ranges) {
			t.Errorf("%s: ranges %v, want %v", c.name, f.Ranges, c.ranges)
		}
		if !slices.Equal(f.Keys, c.keys) {
			t.Errorf("%s: key frames %v, want %v", c.name, f.Keys, c.keys)
		}
	}
}

func twoParts(t *timeline.Timeline, first int) *timeline.Timeline {
	t.Recording.Parts = []timeline.Part{{}, {First: first, Start: t.Recording.Frames[first]}}
	return t
}

func shown(t *timeline.Timeline, from, to int) *timeline.Timeline {
	t.ShowFrom, t.ShowTo = t.Recording.Frames[from], t.Recording.Frames[to]
	return t
}

func hidden(t *timeline.Timeline, i int) *timeline.Timeline {
	t.Observations[i].Hidden = true
	return t
}

// Whatever the job: each frame runs once and in order, each excerpt holds its
// observation and lies whole in the findings, and a key frame stands at both ends.
func TestAnyPlanHoldsTogether(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for range 500 {
		n := 50 + random.IntN(500)
		var at []int
		for range random.IntN(20) {
			at = append(at, random.IntN(n))
		}
		slices.Sort(at)
		tl := pushed(n, at...)
		for i := range tl.Recording.Frames { // uneven times
			tl.Recording.Frames[i] += timecode.Video(random.IntN(90)) * 1e6
		}
		for i := range tl.Observations {
			o := &tl.Observations[i]
			o.Video = tl.Recording.Frames[o.Frame]
			if end := o.Frame + random.IntN(700); random.IntN(3) == 0 && end < n {
				tl.Observations[i].VideoEnd = &tl.Recording.Frames[end]
			}
		}
		if random.IntN(2) == 0 {
			twoParts(tl, 1+random.IntN(n-1))
		}
		checkPlan(t, tl, PlanFindings(tl))
	}
}

func checkPlan(t *testing.T, tl *timeline.Timeline, f Findings) {
	t.Helper()
	var order []int // frames as they run
	var times []timecode.Video
	for i, r := range f.Ranges {
		if i > 0 && r.First <= f.Ranges[i-1].Last+1 {
			t.Fatalf("ranges %v touch", f.Ranges)
		}
		for frame := r.First; frame <= r.Last; frame++ {
			order = append(order, frame)
			times = append(times, f.timeOf(frame))
		}
	}
	if len(order) != f.Frames || !slices.IsSorted(times) || len(slices.Compact(slices.Clone(times))) != len(times) {
		t.Fatalf("%d frames at %v", f.Frames, times)
	}
	for _, e := range f.Excerpts {
		at := slices.Index(order, e.First)
		if at < 0 || order[at+e.Count-1] != e.Last || times[at] != e.From {
			t.Fatalf("excerpt %+v doesn't lie in %v", e, f.Ranges)
		}
		o := tl.Observations[e.Observation-1]
		if !e.End && (o.Frame < e.First || o.Frame > e.Last) {
			t.Fatalf("excerpt %+v doesn't hold frame %d", e, o.Frame)
		}
		if !slices.Contains(f.Keys, times[at]) {
			t.Fatalf("no key frame at the start of %+v", e)
		}
		if next := at + e.Count; next < len(times) && !slices.Contains(f.Keys, times[next]) {
			t.Fatalf("no key frame after %+v", e)
		}
	}
}

// The frame ahead of a key frame is the one shown before it in findings.mp4, wherever
// that stood in the recording.
func TestTheFrameBeforeAKeyFrame(t *testing.T) {
	tenth := timecode.Video(100 * time.Millisecond)
	f := PlanFindings(pushed(400, 20, 25, 200)) // frames 10–45 and 190–220
	for at, want := range map[timecode.Video]timecode.Video{
		5 * tenth: 4 * tenth, 36 * tenth: 35 * tenth, 37 * tenth: 36 * tenth,
	} {
		if got, ok := f.FrameBefore(at); !ok || got != want {
			t.Errorf("ahead of %v: %v, %v, want %v", at, got, ok, want)
		}
	}
	if got, ok := f.FrameBefore(0); ok {
		t.Errorf("ahead of the first there is %v", got)
	}
	for _, key := range f.Keys {
		if got, ok := f.FrameBefore(key); ok && key-got != tenth {
			t.Errorf("ahead of the key frame at %v there is %v", key, got)
		}
	}
}
