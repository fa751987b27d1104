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
	"strings"
	"sync"
	"testing"
	"time"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/job"
	"pushcue/internal/soak"
	"pushcue/internal/testfootage"
	"pushcue/timeline/document"
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

// jobOf makes a job folder of recordings, a log and a sheet. No counter is looked for
// unless the sheet speaks of it.
func jobOf(t *testing.T, sheet, log string, recordings ...string) string {
	t.Helper()
	if !strings.Contains(sheet, "[counter]") {
		sheet += noCounter
	}
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
	v, err := job.Open(context.Background(), job.Ask{Path: dir, For: o.For})
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

// A kind of recording that must be exact, of one part or several.
type exactKind struct {
	soaked bool // left to a soak: another one stands for it
	rows   []float64
	parts  []testfootage.Spec
}

// several has a part of each usual kind: all go through the same join, and what is made
// of it, as what a recording of one part goes through.
const several = "several kinds, one after the other"

var exactly = map[string]exactKind{
	several: {rows: []float64{1.10, 2.75, 4.40, 6.05, 7.85}, parts: []testfootage.Spec{
		{Frames: 40, Container: "avi", Codec: "mjpeg"},
		{Frames: 45, BFrames: 2, Rate: ntsc, Audio: true},
		{Frames: 40, Container: "ts", GOP: 60, BFrames: 2, StartOffset: time.Hour, Audio: true},
		{Frames: 43, Container: "avi", Codec: "mpeg4-packed", BFrames: 2},
		{Frames: 40, Container: "mkv", VFR: true, BFrames: 2},
	}},
	"mp4, GOP 250, B-frames, starts late":   {rows: usualRows[:2], parts: []testfootage.Spec{{Frames: 100, GOP: 250, BFrames: 3, StartOffset: 2 * time.Second, Audio: true, AudioDelay: 300 * time.Millisecond}}},
	"turned, interlaced, odd pixels, 29.97": {rows: usualRows[:2], parts: []testfootage.Spec{{Frames: 115, Container: "mov", Rotation: 270, Interlaced: true, Width: 320, Height: 256, Rate: ntsc, Crf: 18}}},
	"mkv, varying rate":                     {soaked: true, parts: []testfootage.Spec{{Frames: 115, Container: "mkv", VFR: true, BFrames: 2}}},
	"mp4, 25":                               {soaked: true, parts: []testfootage.Spec{{Frames: 150, Audio: true}}},
	"mp4, GOP 60, B-frames, 29.97":          {soaked: true, parts: []testfootage.Spec{{Frames: 180, GOP: 60, BFrames: 2, Rate: ntsc, Audio: true}}},
	"mp4, varying rate":                     {soaked: true, parts: []testfootage.Spec{{Frames: 115, VFR: true, BFrames: 2, Audio: true}}},
	"avi, MJPEG, 29.97":                     {soaked: true, parts: []testfootage.Spec{{Frames: 180, Container: "avi", Rate: ntsc, Audio: true}}},
	"avi, MPEG-4":                           {soaked: true, parts: []testfootage.Spec{{Frames: 150, Container: "avi", Codec: "mpeg4", Audio: true}}},
	"avi, MPEG-4, packed B-frames":          {soaked: true, parts: []testfootage.Spec{{Frames: 151, Container: "avi", Codec: "mpeg4-packed", BFrames: 2}}},
	"mkv, B-frames, 29.97":                  {soaked: true, parts: []testfootage.Spec{{Frames: 180, Container: "mkv", BFrames: 2, Rate: ntsc, Audio: true}}},
	"ts, GOP 60, B-frames":                  {soaked: true, parts: []testfootage.Spec{{Frames: 150, Container: "ts", GOP: 60, BFrames: 2, StartOffset: time.Hour, Audio: true}}},
	"ts, MPEG-2, 29.97, GOP 250":            {soaked: true, parts: []testfootage.Spec{{Frames: 180, Container: "ts", Codec: "mpeg2", GOP: 250, BFrames: 2, Rate: ntsc}}},
	"mpg, B-frames":                         {soaked: true, parts: []testfootage.Spec{{Frames: 150, Container: "mpg", GOP: 15, BFrames: 2, Audio: true}}},
	"two parts of different kinds":          {soaked: true, parts: []testfootage.Spec{{Frames: 60, Container: "avi", Codec: "mjpeg"}, {Frames: 110, BFrames: 2, Rate: ntsc, Audio: true}}},
}

// Rows lie far enough apart for cues of their own. The excerpts, from 1.0 s before to
// 0.8 s after, of the first two overlap; the last one's stands alone.
var usualRows = []float64{1.10, 2.71, 4.90}

// exactLog has a row at each of some moments; its distances are those of the readings.
func exactLog(rows []float64) string {
	log := "video,distance,what,note\n"
	for i, at := range rows {
		log += fmt.Sprintf("%.2f,%.1f m,%s,\"left, at the joint\"\n", at, metresASecond*at, []string{"roots", "crack", "belly", "hole"}[i%4])
	}
	return log
}

const exactSheet = "[counter]\nlook = \"off\"\n[clips]\nlead = \"1s\"\ntail = \"0.8s\"\n[distance]\nreadings = \"counter.csv\"\n[stills]\nwindow = %q\n"

// What the tests of pictures ask for: page and report aren't looked at here.
var pictures = Options{Skip: []string{"page", "report"}}

// job is a job of the recording; window is how far the best still may be from the exact
// one.
func (k exactKind) job(t *testing.T, window string) (dir string, frames int) {
	t.Helper()
	var recordings []string
	for _, s := range k.parts {
		if s.Width == 0 && s.Codec != "dv" { // which knows one size only
			s.Width, s.Height = 160, 120
		}
		s.First = frames
		recordings = append(recordings, testfootage.Numbered(t, s))
		frames += s.Frames
	}
	if k.rows == nil {
		k.rows = usualRows
	}
	dir = jobOf(t, fmt.Sprintf(exactSheet, window), exactLog(k.rows), recordings...)
	overwrite(t, filepath.Join(dir, "counter.csv"), steadyReadings())
	return dir, frames
}

func TestEverythingMadeHoldsTheFramesItNames(t *testing.T) {
	for name, kind := range exactly {
		if kind.soaked && !soak.On() {
			continue
		}
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			kind.check(t, window(name))
		})
	}
}

// window has some recordings' stills taken where the picture is best: that may be
// another frame than the exact one, and is still the one named.
func window(name string) string {
	if strings.HasPrefix(name, "turned") || strings.HasPrefix(name, "two parts") {
		return "1s"
	}
	return "0s"
}

// check makes a job of the recording, and holds all that shows pictures of it against
// the timeline.
func (k exactKind) check(t *testing.T, window string) {
	t.Helper()
	dir, frames := k.job(t, window)
	r := makeJob(t, dir, pictures)
	rec := r.Placed[0].Recording
	d := documentOf(t, r.Out)
	video, findings := filepath.Join(r.Out, "video", "job.mp4"), filepath.Join(r.Out, "clips", "findings.mp4")
	files := []string{video, findings}
	for _, o := range d.Observations {
		if o.Clip == nil {
			t.Fatalf("observation %d has no clip", o.Number)
		}
		files = append(files, filepath.Join(r.Out, *o.Clip))
	}
	films := watch(t, rec.Height, files...)
	inOrder(t, "the captioned video", films[0].numbers, 0, frames-1)
	timesAre(t, k.parts, rec.Times)
	if want := distanceChanges(t, rec.Times); !slices.Equal(films[0].changes[:min(len(want), len(films[0].changes))], want) {
		t.Errorf("what the strip says changes on the frames %v, want %v", films[0].changes, want)
	}
	checkStills(t, r, window == "0s")
	checkFindings(t, r, findings, films[1].numbers, checkClips(t, r, files[2:], films[2:]))
	v := probeOf(t, video)
	checkChapters(t, r, v.chapters)
	v.lasts(t, 0, rec.End)
	rate := k.parts[0].Rate
	switch {
	case k.parts[0].VFR:
		rate = timecode.Rate{}
	case rate.Num == 0:
		rate = pal
	}
	v.playsAnywhere(t, rate)
}

// Without a burn, stills are taken by seeking: that each kind of recording gives the
// frame asked for is for the package frames to prove.
func TestStillsAloneAreTheFramesTheyName(t *testing.T) {
	kinds, window := map[string]exactKind{"mkv, varying rate": exactly["mkv, varying rate"]}, "1s"
	if soak.On() {
		kinds, window = exactly, "0s"
	}
	for name, kind := range kinds {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			dir, _ := kind.job(t, window)
			checkStills(t, makeJob(t, dir, Options{Only: []string{"stills"}}), window == "0s")
		})
	}
}

// checkStills compares the stills with the timeline.
func checkStills(t *testing.T, r *Result, exact bool) {
	t.Helper()
	placed := r.Placed[0]
	d := documentOf(t, r.Out)
	if rows := placed.Timeline.Log.Rows; len(d.Observations) != len(rows) {
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

// checkClips compares clips and cues with the timeline; it gives the first and the last
// frame of each clip.
func checkClips(t *testing.T, r *Result, files []string, films []film) (clips [][2]int) {
	t.Helper()
	placed := r.Placed[0]
	rec := placed.Timeline.Recording
	starts := cueStarts(t, filepath.Join(r.Out, "video", "job.srt"))
	for i, at := range placed.Timeline.Observations {
		name, clip := filepath.Base(files[i]), films[i].numbers
		first, last := clip[0], clip[0]+len(clip)-1
		clips = append(clips, [2]int{first, last})
		inOrder(t, name, clip, first, last)
		if first < 0 || at.Frame < first || at.Frame > last {
			t.Errorf("%s holds frames %d to %d, the observation is on %d", name, first, last, at.Frame)
			continue
		}
		if lead := at.Video.Sub(rec.Frames[first]); !startsPart(rec, first) && lead < time.Second || lead > 1300*time.Millisecond {
			t.Errorf("%s begins %v before its observation", name, lead)
		}
		v := probeOf(t, files[i])
		if p := v.packets[0]; !p.key || p.at != 0 {
			t.Errorf("%s begins with %+v, not with a key frame at zero", name, p)
		}
		v.lasts(t, rec.Frames[first], until(rec, last))
		_, from, until := placed.Timeline.FrameAt(at.Video)
		if !anyWithin(starts, from, until) {
			t.Errorf("no cue starts on the frame of observation %d (%v): %v", at.Number, from, starts)
		}
	}
	return clips
}

// checkFindings: every frame that a clip holds stands once, in order, in findings.mp4,
// and a key frame where each clip starts and right after it ends.
func checkFindings(t *testing.T, r *Result, path string, got []int, clips [][2]int) {
	t.Helper()
	var want []int
	for n := range len(r.Placed[0].Recording.Times) {
		if slices.ContainsFunc(clips, func(c [2]int) bool { return c[0] <= n && n <= c[1] }) {
			want = append(want, n)
		}
	}
	if !slices.Equal(got, want) {
		t.Errorf("findings.mp4 holds %v, want %v", got, want)
		return
	}
	packets := probeOf(t, path).packets
	for _, c := range clips {
		for _, n := range []int{c[0], c[1] + 1} {
			if i := slices.Index(got, n); i >= 0 && !packets[i].key {
				t.Errorf("findings.mp4 has no key frame on frame %d, where an excerpt starts or has ended", n)
			}
		}
	}
}

// checkChapters: one begins with the video, and one on the frame of each observation.
func checkChapters(t *testing.T, r *Result, chapters []timecode.Video) {
	t.Helper()
	placed := r.Placed[0].Timeline.Observations
	if len(chapters) != 1+len(placed) || chapters[0] != 0 {
		t.Fatalf("the chapters begin at %v", chapters)
	}
	for i, o := range placed {
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

func documentOf(t *testing.T, out string) *document.Document {
	t.Helper()
	d := new(document.Document)
	if err := json.Unmarshal([]byte(content(t, filepath.Join(out, timelineName))), d); err != nil {
		t.Fatal(err)
	}
	return d
}
