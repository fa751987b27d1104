package handover

import (
	"context"
	"encoding/json"
	"fmt"
	"image"
	"image/jpeg"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/testfootage"
	"pushcue/timeline"
	"pushcue/timeline/timecode"
)

// foundTools looks for ffmpeg once.
var foundTools = sync.OnceValues(func() (*ffmpeg.Tools, error) {
	return ffmpeg.Find(context.Background(), ffmpeg.Where{Cache: ffmpeg.UserCache()})
})

func realTools(t *testing.T) *ffmpeg.Tools {
	t.Helper()
	tools, err := foundTools()
	if err != nil {
		t.Fatalf("ffmpeg 5.1 or newer is needed to test with: %v", err)
	}
	return tools
}

// jobOf makes a job folder of recordings, a log and a sheet.
func jobOf(t *testing.T, sheet, log string, recordings ...string) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "job")
	overwrite(t, filepath.Join(dir, "job.toml"), sheet)
	if log != "" {
		overwrite(t, filepath.Join(dir, "log.csv"), log)
	}
	for i, r := range recordings {
		overwrite(t, filepath.Join(dir, fmt.Sprintf("part%d%s", i+1, filepath.Ext(r))), content(t, r))
	}
	return dir
}

func makeJob(t *testing.T, dir string, o Options) *Result {
	t.Helper()
	v, err := Open(context.Background(), Ask{Path: dir, For: o.For})
	if err != nil {
		t.Fatal(err)
	}
	r, err := Make(context.Background(), realTools(t), v, o, nil)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

var (
	pal  = timecode.Rate{Num: 25, Den: 1}
	ntsc = timecode.Rate{Num: 30000, Den: 1001}
)

// recordings of the kinds that must be exact, each of one part or several.
var exactly = map[string][]testfootage.Spec{
	"mp4, 25":                               {{Frames: 250, Audio: true}},
	"mp4, GOP 60, B-frames, 29.97":          {{Frames: 200, GOP: 60, BFrames: 2, Rate: ntsc, Audio: true}},
	"mp4, GOP 250, B-frames, starts late":   {{Frames: 260, GOP: 250, BFrames: 3, StartOffset: 2 * time.Second, Audio: true, AudioDelay: 300 * time.Millisecond}},
	"mp4, varying rate":                     {{Frames: 135, VFR: true, BFrames: 2, Audio: true}},
	"avi, MJPEG, 29.97":                     {{Frames: 200, Container: "avi", Rate: ntsc, Audio: true}},
	"avi, MPEG-4":                           {{Frames: 200, Container: "avi", Codec: "mpeg4", Audio: true}},
	"avi, MPEG-4, packed B-frames":          {{Frames: 199, Container: "avi", Codec: "mpeg4-packed", BFrames: 2}},
	"mkv, B-frames, 29.97":                  {{Frames: 200, Container: "mkv", BFrames: 2, Rate: ntsc, Audio: true}},
	"mkv, varying rate":                     {{Frames: 135, Container: "mkv", VFR: true, BFrames: 2}},
	"ts, GOP 60, B-frames":                  {{Frames: 200, Container: "ts", GOP: 60, BFrames: 2, StartOffset: time.Hour, Audio: true}},
	"ts, MPEG-2, 29.97, GOP 250":            {{Frames: 260, Container: "ts", Codec: "mpeg2", GOP: 250, BFrames: 2, Rate: ntsc}},
	"mpg, B-frames":                         {{Frames: 200, Container: "mpg", GOP: 15, BFrames: 2, Audio: true}},
	"two parts of different kinds":          {{Frames: 100, Container: "avi", Codec: "mjpeg"}, {First: 100, Frames: 120, BFrames: 2, Rate: ntsc, Audio: true}},
	"turned, interlaced, odd pixels, 29.97": {{Frames: 200, Container: "mov", Rotation: 270, Interlaced: true, Height: 256, Rate: ntsc}},
}

// Rows lie far enough apart for cues of their own, and so near that the excerpts,
// from 1.0 s before to 0.8 s after, overlap. Their distances are those of the readings.
const exactLog = "video,distance,what,note\n0:01.30,0.6 m,roots,\"left, at the joint\"\n0:02.91,1.4 m,crack,\n0:04.60,2.2 m,belly,\n0:06.45,3.1 m,hole,\n"

const exactSheet = "[counter]\nlook = \"off\"\n[clips]\nlead = \"1s\"\ntail = \"0.8s\"\n[distance]\nreadings = \"counter.csv\"\n[stills]\nwindow = %q\n"

// What the tests of pictures ask for: page and report aren't looked at here.
var pictures = Options{Skip: []string{"page", "report"}}

func exactJob(t *testing.T, window string, specs []testfootage.Spec) (dir string, frames int) {
	t.Helper()
	var recordings []string
	for _, s := range specs {
		recordings = append(recordings, testfootage.Numbered(t, s))
		frames += s.Frames
	}
	dir = jobOf(t, fmt.Sprintf(exactSheet, window), exactLog, recordings...)
	overwrite(t, filepath.Join(dir, "counter.csv"), steadyReadings())
	return dir, frames
}

func TestEverythingMadeHoldsTheFramesItNames(t *testing.T) {
	if os.Getenv("PUSHCUE_TEST_SHORT") != "" {
		t.Skip("short")
	}
	for name, specs := range exactly {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			checkExact(t, specs)
		})
	}
}

func checkExact(t *testing.T, specs []testfootage.Spec) {
	t.Helper()
	dir, frames := exactJob(t, "0s", specs)
	r := makeJob(t, dir, pictures)
	rec := r.Placed[0].Recording
	video := filepath.Join(r.Out, "video", "job.mp4")
	film := watch(t, video, rec.Height)
	inOrder(t, "the captioned video", film.numbers, 0, frames-1)
	timesAre(t, specs, rec.Times)
	if want := distanceChanges(t, rec.Times); !slices.Equal(film.changes[:min(len(want), len(film.changes))], want) {
		t.Errorf("what the strip says changes on the frames %v, want %v", film.changes, want)
	}
	checkStills(t, r, true)
	checkClips(t, r)
	checkChapters(t, r, video)
	lasts(t, video, 0, rec.End)
}

// The best picture near the exact one may be another; it's still the one named.
func TestTheBestStillIsTheFrameItNames(t *testing.T) {
	for _, name := range []string{"mp4, varying rate", "avi, MPEG-4, packed B-frames", "two parts of different kinds"} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			dir, _ := exactJob(t, "1s", exactly[name])
			checkStills(t, makeJob(t, dir, pictures), false)
		})
	}
}

// Without a burn, stills are taken by seeking.
func TestStillsAloneAreTheFramesTheyName(t *testing.T) {
	for name, specs := range exactly {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			dir, _ := exactJob(t, "0s", specs)
			checkStills(t, makeJob(t, dir, Options{Only: []string{"stills"}}), true)
		})
	}
}

// checkStills compares the stills with the timeline.
func checkStills(t *testing.T, r *Result, exact bool) {
	t.Helper()
	placed := r.Placed[0]
	d := documentOf(t, r.Out)
	if len(d.Observations) != 4 {
		t.Fatalf("%d observations were placed", len(d.Observations))
	}
	for i, o := range d.Observations {
		if o.Still == nil || o.StillTime == nil {
			t.Fatalf("observation %d has no still, or doesn't say which frame it is", o.Number)
		}
		still := numberOf(t, filepath.Join(r.Out, *o.Still))
		if index, _, _ := placed.Timeline.FrameAt(timecode.VideoSeconds(*o.StillTime)); index != still {
			t.Errorf("still %d shows frame %d, the timeline names %d", o.Number, still, index)
		}
		if at := placed.Timeline.Observations[i]; exact && still != at.Frame {
			t.Errorf("still %d shows frame %d, it is placed on %d", o.Number, still, at.Frame)
		}
	}
}

// checkClips compares clips and cues with the timeline, and findings.mp4 with the clips.
func checkClips(t *testing.T, r *Result) {
	t.Helper()
	placed := r.Placed[0]
	rec := placed.Timeline.Recording
	starts := cueStarts(t, filepath.Join(r.Out, "video", "job.srt"))
	var clips [][2]int
	for i, o := range documentOf(t, r.Out).Observations {
		at := placed.Timeline.Observations[i]
		if o.Clip == nil {
			t.Fatalf("observation %d has no clip", o.Number)
		}
		path := filepath.Join(r.Out, *o.Clip)
		clip := numbers(t, path)
		first, last := clip[0], clip[0]+len(clip)-1
		clips = append(clips, [2]int{first, last})
		inOrder(t, *o.Clip, clip, first, last)
		if first < 0 || at.Frame < first || at.Frame > last {
			t.Errorf("%s holds frames %d to %d, the observation is on %d", *o.Clip, first, last, at.Frame)
			continue
		}
		if lead := at.Video.Sub(rec.Frames[first]); !startsPart(rec, first) && lead < time.Second || lead > 1300*time.Millisecond {
			t.Errorf("%s begins %v before its observation", *o.Clip, lead)
		}
		if packets := packetsOf(t, path); !packets[0].key || packets[0].at != 0 {
			t.Errorf("%s begins with %+v, not with a key frame at zero", *o.Clip, packets[0])
		}
		lasts(t, path, rec.Frames[first], until(rec, last))
		_, from, until := placed.Timeline.FrameAt(at.Video)
		if !anyWithin(starts, from, until) {
			t.Errorf("no cue starts on the frame of observation %d (%v): %v", o.Number, from, starts)
		}
	}
	checkFindings(t, r, clips)
}

// checkFindings: every frame that a clip holds stands once, in order, in findings.mp4,
// and a key frame where each clip starts and right after it ends.
func checkFindings(t *testing.T, r *Result, clips [][2]int) {
	t.Helper()
	path := filepath.Join(r.Out, "clips", "findings.mp4")
	var want []int
	for n := range len(r.Placed[0].Recording.Times) {
		if slices.ContainsFunc(clips, func(c [2]int) bool { return c[0] <= n && n <= c[1] }) {
			want = append(want, n)
		}
	}
	got := numbers(t, path)
	if !slices.Equal(got, want) {
		t.Errorf("findings.mp4 holds %v, want %v", got, want)
		return
	}
	packets := packetsOf(t, path)
	for _, c := range clips {
		for _, n := range []int{c[0], c[1] + 1} {
			if i := slices.Index(got, n); i >= 0 && !packets[i].key {
				t.Errorf("findings.mp4 has no key frame on frame %d, where an excerpt starts or has ended", n)
			}
		}
	}
}

// checkChapters: one begins with the video, and one on the frame of each observation.
func checkChapters(t *testing.T, r *Result, video string) {
	t.Helper()
	chapters := chaptersOf(t, video)
	if len(chapters) != 5 || chapters[0] != 0 {
		t.Fatalf("the chapters begin at %v", chapters)
	}
	for i, o := range r.Placed[0].Timeline.Observations {
		_, from, until := r.Placed[0].Timeline.FrameAt(o.Video)
		if !anyWithin(chapters[i+1:i+2], from, until) {
			t.Errorf("chapter %d begins at %v, its observation is on the frame from %v to %v", i+1, chapters[i+1], from, until)
		}
	}
}

// inOrder fails unless found is first, first+1, … last.
func inOrder(t *testing.T, what string, found []int, first, last int) {
	t.Helper()
	if len(found) != last-first+1 {
		t.Errorf("%s holds %d frames, want %d: %v", what, len(found), last-first+1, found)
		return
	}
	for i, n := range found {
		if n != first+i {
			t.Errorf("%s: picture %d shows frame %d, want %d", what, i, n, first+i)
			return
		}
	}
}

func still(t *testing.T, path string) image.Image {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	img, err := jpeg.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	return img
}

func numberOf(t *testing.T, path string) int {
	t.Helper()
	n, ok := testfootage.ReadNumber(still(t, path))
	if !ok {
		t.Errorf("%s: no number in the picture", path)
	}
	return n
}

func documentOf(t *testing.T, out string) *timeline.Document {
	t.Helper()
	d := new(timeline.Document)
	if err := json.Unmarshal([]byte(content(t, filepath.Join(out, timelineName))), d); err != nil {
		t.Fatal(err)
	}
	return d
}
