package handover

import (
	"context"
	"errors"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pushcue/internal/job"
	"pushcue/internal/shelf"
	"pushcue/internal/testfootage"
	"pushcue/internal/trouble"
	"pushcue/timeline"
	"pushcue/timeline/timecode"
)

const shortLog = "video,distance,what,note\n0:01.30,0.8 m,roots,\"left, at the joint\"\n0:03.1,1.4 m,crack,\n"

func plain(t *testing.T) string {
	return testfootage.Numbered(t, testfootage.Spec{Frames: 100, Width: 160, Height: 120, Audio: true})
}

func has(t *testing.T, out string, names ...string) {
	t.Helper()
	for _, name := range names {
		if !job.IsFile(filepath.Join(out, filepath.FromSlash(name))) {
			t.Errorf("%s is missing", name)
		}
	}
}

func hasnt(t *testing.T, out string, names ...string) {
	t.Helper()
	for _, name := range names {
		if _, err := os.Stat(filepath.Join(out, filepath.FromSlash(name))); err == nil {
			t.Errorf("%s is there", name)
		}
	}
}

func TestALogWithoutRowsIsACompleteHandover(t *testing.T) {
	t.Parallel()
	r := makeJob(t, jobOf(t, "", "video,distance,what\n", plain(t)), Options{})
	has(t, r.Out, "video/job.mp4", "as-filmed/part1.mp4", "log.csv", "timeline.json", "SHA256SUMS")
	hasnt(t, r.Out, "clips", "stills", "video/job.srt")
	if r.Open() {
		t.Errorf("something is left open: %+v", r.Warnings)
	}
}

func TestARecordingWithoutALogIsCaptioned(t *testing.T) {
	t.Parallel()
	wide := testfootage.Numbered(t, testfootage.Spec{Frames: 30, Width: 160, Height: 120, Container: "mpg", SAR: timecode.Rate{Num: 16, Den: 15}, Interlaced: true, Audio: true})
	r := makeJob(t, jobOf(t, "", "", wide), Options{})
	has(t, r.Out, "video/job.mp4", "as-filmed/part1.mpg", "timeline.json", pageName, "report.pdf")
	hasnt(t, r.Out, "log.csv", "clips", "stills")
	v := probeOf(t, filepath.Join(r.Out, "video", "job.mp4"))
	v.playsAnywhere(t, pal)
	if v.sound == nil {
		t.Error("its sound is gone")
	}
}

func TestOnlyAndSkipChooseWhatIsMade(t *testing.T) {
	for _, c := range []struct {
		only, skip, want []string
	}{
		{nil, nil, Kinds},
		{[]string{"page", "clips"}, nil, []string{"page", "clips"}},
		{nil, []string{"video", "clips", "report"}, []string{"subtitles", "stills", "spoken", "photos", "page", "log", "otio"}},
		{[]string{"spoken", "clips"}, []string{"clips"}, []string{"spoken"}},
	} {
		wants := Options{Only: c.only, Skip: c.skip}.wants()
		for _, kind := range Kinds {
			if wants[kind] != slices.Contains(c.want, kind) {
				t.Errorf("only %q, skip %q: %s is wanted: %v", c.only, c.skip, kind, wants[kind])
			}
		}
	}
}

func TestWhatTheCustomerGetsCanStartAndEndInside(t *testing.T) {
	t.Parallel()
	dir := jobOf(t, "[recording]\nshow_from = \"0:01\"\nshow_to = \"0:03\"\nsound = \"drop\"\n[clips]\nlead = \"1s\"\ntail = \"0.5s\"\n", shortLog, plain(t))
	r := makeJob(t, dir, pictures)
	video := filepath.Join(r.Out, "video", "job.mp4")
	films := watch(t, 0, video, filepath.Join(r.Out, "clips", "01_0.8m_roots.mp4"), filepath.Join(r.Out, "clips", "findings.mp4"))
	inOrder(t, "the captioned video", films[0].numbers, 25, 74)
	inOrder(t, "the clip", films[1].numbers, 25, 44)
	inOrder(t, "findings.mp4", films[2].numbers, 25, 44)
	hasnt(t, r.Out, "as-filmed", "stills/02_1.4m_crack.jpg", "clips/02_1.4m_crack.mp4")
	if i := slices.IndexFunc(r.Warnings, func(w timeline.Warning) bool { return w.Row == 2 && w.Open() }); i < 0 || !r.Open() {
		t.Errorf("the observation outside isn't named: %+v", r.Warnings)
	}
	// Observation 1 is on frame 32, 0.28 s into what is shown.
	if starts := cueStarts(t, filepath.Join(r.Out, "video", "job.srt")); len(starts) != 1 || starts[0] != 280_000_000 {
		t.Errorf("the cues start at %v", starts)
	}
	v := probeOf(t, video)
	if len(v.chapters) != 2 || v.chapters[1] != 280_000_000 {
		t.Errorf("the chapters begin at %v", v.chapters)
	}
	if v.sound != nil {
		t.Errorf("the sound is still there: %+v", *v.sound)
	}
	if d := documentOf(t, r.Out); d.Handover.VideoOffset != 1 {
		t.Errorf("the shift is said to be %v s", d.Handover.VideoOffset)
	}
}

// A stretch is announced where it starts and where it ends, and its clip holds all of it.
func TestAStretchIsShownFromEndToEnd(t *testing.T) {
	t.Parallel()
	dir := jobOf(t, "[distance]\nreadings = \"counter.csv\"\n[clips]\nlead = \"0.5s\"\ntail = \"0.8s\"\n",
		"video,distance,to,what\n0:01.30,0.6 m,1.5 m,roots\n", plain(t))
	overwrite(t, filepath.Join(dir, "counter.csv"), steadyReadings())
	r := makeJob(t, dir, Options{Only: []string{"video", "clips", "subtitles"}})
	o := documentOf(t, r.Out).Observations[0]
	const end = 1.5 / metresASecond
	if o.VideoEnd == nil || math.Abs(*o.VideoEnd-end) > 0.04 || o.DistanceTo == nil || *o.DistanceTo != 1.5 {
		t.Fatalf("it ends at %v s, %v m; want %.2f s", o.VideoEnd, o.DistanceTo, end)
	}
	clip := numbers(t, filepath.Join(r.Out, *o.Clip))
	inOrder(t, "the clip", clip, 19, int((*o.VideoEnd+0.8)*25))
	starts := cueStarts(t, filepath.Join(r.Out, "video", "job.srt"))
	if len(starts) != 2 || math.Abs(starts[0].Seconds()-1.28) > 0.001 || math.Abs(starts[1].Seconds()-*o.VideoEnd) > 0.04 {
		t.Errorf("the cues start at %v", starts)
	}
}

func TestQuickBurnsNothing(t *testing.T) {
	t.Parallel()
	r := makeJob(t, jobOf(t, "", shortLog, plain(t)), Options{Quick: true})
	hasnt(t, r.Out, "video", "clips")
	has(t, r.Out, "as-filmed/part1.mp4", "as-filmed/part1.srt", "stills/01_0.8m_roots.jpg")
}

func TestALargeVideoIsSplitAtKeyFrames(t *testing.T) {
	t.Parallel()
	const limit = 260_000
	// x264 sets a key frame every 250 frames where nothing asks for one.
	long := testfootage.Numbered(t, testfootage.Spec{Frames: 510, Width: 160, Height: 120, Audio: true})
	dir := jobOf(t, noCounter, shortLog+"0:16,3 m,belly,\n", long)
	r := makeJob(t, dir, Options{Only: []string{"video", "subtitles"}, PartLimit: limit})
	d := documentOf(t, r.Out)
	if len(d.Handover.Videos) < 2 {
		t.Fatalf("it wasn't split: %+v", d.Handover.Videos)
	}
	var paths []string
	for _, v := range d.Handover.Videos {
		path := filepath.Join(r.Out, filepath.FromSlash(v.File))
		if info, err := os.Stat(path); err != nil || info.Size() > limit {
			t.Errorf("%s: %v %v", v.File, info, err)
		}
		paths = append(paths, path)
	}
	var all []int
	for i, part := range watch(t, 0, paths...) {
		if v := d.Handover.Videos[i]; part.numbers[0] != int(v.From*25+0.5) {
			t.Errorf("%s is said to begin at %v s, it begins with frame %d", v.File, v.From, part.numbers[0])
		}
		all = append(all, part.numbers...)
	}
	inOrder(t, "all parts together", all, 0, 509)
	again := makeJob(t, dir, Options{Only: []string{"video", "subtitles"}, PartLimit: limit})
	if len(again.Made) != 0 {
		t.Errorf("made anew: %q", again.Made)
	}
}

func TestOnlyWhatChangedIsMadeAnew(t *testing.T) {
	t.Parallel()
	dir := jobOf(t, "", shortLog, plain(t))
	makeJob(t, dir, Options{})
	overwrite(t, filepath.Join(dir, "log.csv"), strings.Replace(shortLog, "at the joint", "below the joint", 1))
	r := makeJob(t, dir, Options{})
	for _, kept := range []string{"video/job.mp4", "as-filmed/part1.mp4", "stills/02_1.4m_crack.jpg"} {
		if !slices.Contains(r.Kept, kept) {
			t.Errorf("%s was made anew", kept)
		}
	}
	for _, made := range []string{"clips/findings.mp4", "clips/01_0.8m_roots.mp4", "log.csv", "timeline.json"} {
		if !slices.Contains(r.Made, made) {
			t.Errorf("%s wasn't made anew", made)
		}
	}
	overwrite(t, filepath.Join(dir, "log.csv"), strings.Replace(shortLog, "roots", "grease", 1))
	r = makeJob(t, dir, Options{Skip: []string{"clips"}})
	if !slices.Contains(r.Removed, "stills/01_0.8m_roots.jpg") || !slices.Contains(r.Removed, "clips/01_0.8m_roots.mp4") {
		t.Errorf("outdated files stay: removed %q", r.Removed)
	}
	has(t, r.Out, "stills/01_0.8m_grease.jpg")
}

func TestAFolderThatCantBeWrittenToIsSaidInOneSentence(t *testing.T) {
	if os.Geteuid() == 0 {
		// Root writes anywhere; a file in the folder's place stops it as well.
		dir := jobOf(t, "", shortLog, plain(t))
		overwrite(t, filepath.Join(dir, "work"), "in the way")
		v, err := job.Open(context.Background(), job.Ask{Path: dir})
		if err != nil {
			t.Fatal(err)
		}
		if _, err = Make(context.Background(), realTools(t), v, Options{}, nil); err == nil {
			t.Error("nothing is said")
		}
		return
	}
	dir := jobOf(t, "", shortLog, plain(t))
	if err := os.Chmod(dir, 0o555); err != nil {
		t.Fatal(err)
	}
	defer os.Chmod(dir, 0o755)
	v, err := job.Open(context.Background(), job.Ask{Path: dir})
	if err != nil {
		t.Fatal(err)
	}
	_, err = Make(context.Background(), realTools(t), v, Options{}, nil)
	var trouble *trouble.Trouble
	if !errors.As(err, &trouble) || trouble.Hint.Empty() {
		t.Errorf("got %v", err)
	}
}

func TestAVisitGetsOneListOfSums(t *testing.T) {
	t.Parallel()
	down := jobOf(t, "", shortLog, plain(t))
	visit := filepath.Dir(down)
	overwrite(t, filepath.Join(visit, "visit.toml"), "[customer]\nname = \"Rowan Ashdale\"\n")
	for _, name := range []string{"part1.mp4", "log.csv"} {
		overwrite(t, filepath.Join(visit, "up", name), content(t, filepath.Join(down, name)))
	}
	r := makeJob(t, visit, Options{Quick: true})
	has(t, r.Out, "SHA256SUMS", "job/timeline.json", "up/timeline.json", "up/as-filmed/part1.mp4")
	if text := content(t, filepath.Join(r.Out, shelf.SumsName)); !strings.Contains(text, "  job/timeline.json\n") || !strings.Contains(text, "  up/log.csv\n") {
		t.Errorf("the list of sums:\n%s", text)
	}
}
