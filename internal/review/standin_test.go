package review

import (
	"bytes"
	"errors"
	"fmt"
	"image/jpeg"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/safefile"
	"pushcue/internal/soak"
	"pushcue/internal/testfootage"
)

// A stand-in is found again after the job folder was moved; those of recordings that
// are gone, and halves, don't stay.
func TestAStandInIsKnownByWhatItStandsFor(t *testing.T) {
	dir := twoParts(t)
	isReady := func(s state) bool { return s.Film != nil && s.Film.Parts[1].StandIn.State == "ready" }
	b := serve(t, dir)
	b.until("the stand-in", isReady)
	path, ok := b.server.now().sittings[0].stands.path(b.server.now().sittings[0].now.Load().recording, 1)
	if !ok {
		t.Fatal("it is ready and isn't there")
	}
	moved := filepath.Join(t.TempDir(), "elsewhere")
	if err := os.CopyFS(moved, os.DirFS(dir)); err != nil {
		t.Fatal(err)
	}
	rel, err := filepath.Rel(dir, path)
	if err != nil {
		t.Fatal(err)
	}
	write(t, filepath.Join(moved, rel), "kept")
	stale := []string{standInName + "00112233.mp4", filepath.Base(path) + ".unfinished"}
	for _, name := range stale {
		write(t, filepath.Join(moved, filepath.Dir(rel), name), "stale")
	}
	b = serve(t, moved)
	b.until("the stand-in", isReady)
	if _, film := b.get("/media/proxy/1"); string(film) != "kept" {
		t.Errorf("it was made anew: %d bytes", len(film))
	}
	for _, name := range stale {
		if _, err := os.Stat(filepath.Join(moved, filepath.Dir(rel), name)); err == nil {
			t.Errorf("%s is still there", name)
		}
	}
}

func TestAStandInThatDoesntFitOnTheDisk(t *testing.T) {
	if _, err := os.Stat("/dev/full"); err != nil {
		t.Skip("this system has no device that is always full")
	}
	dir := twoParts(t)
	t.Cleanup(safefile.OnEachStep(func(op, at string) error {
		// The folder that ffmpeg is going to write into; other tests' jobs are open beside this one.
		if op != "enter" || !strings.HasPrefix(at, dir) || !strings.HasPrefix(filepath.Base(at), standInName) {
			return nil
		}
		if err := os.Symlink("/dev/full", filepath.Join(at, "unfinished.mp4")); err != nil && !errors.Is(err, fs.ErrExist) {
			t.Error(err)
		}
		return nil
	}))
	b := serve(t, dir)
	s := b.until("the stand-in", func(s state) bool { return s.Film != nil && s.Film.Parts[1].StandIn.State == "failed" })
	if why := s.Film.Parts[1].StandIn.Why; !strings.Contains(why, "drive is full") {
		t.Error(why)
	}
	if left, _ := filepath.Glob(filepath.Join(dir, "work", standInName+"*")); len(left) > 0 {
		t.Errorf("it left %v", left)
	}
}

// Whatever browsers don't play, frame i of each stand-in is frame i of its part, at its
// time; and so are the stills that stand in until it is made.
func TestEveryKindThatBrowsersDontPlayHasItsStandIn(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "77-B")
	const long = 15
	// A clock that begins late, and uneven times; AVI is looked at in the job of all tests.
	kinds := []testfootage.Spec{{Container: "ts", BFrames: 2}, {Container: "mkv", VFR: true}}
	if soak.On() {
		kinds = append(kinds, testfootage.Spec{Container: "avi", Codec: "mjpeg"}, testfootage.Spec{Container: "mpg", Codec: "mpeg2", BFrames: 2},
			testfootage.Spec{Container: "mkv", BFrames: 2}, testfootage.Spec{Container: "mp4", BFrames: 2})
	}
	tools, err := findTools(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, spec := range kinds {
		spec.Frames, spec.First, spec.Width, spec.Height = long, long*i, 160, 120
		to := filepath.Join(dir, fmt.Sprintf("part%d.%s", i+1, spec.Container))
		if spec.Container != "mp4" {
			testfootage.Link(t, spec, to)
			continue
		}
		hevc := []string{"-i", "file:" + testfootage.Numbered(t, spec), "-c:v", "libx265", "-x265-params", "log-level=error:crf=20", "-tag:v", "hvc1", "file:" + to}
		if _, err := tools.Do(t.Context(), ffmpeg.Run{Args: hevc, Sources: testfootage.Inputs(hevc)}); err != nil {
			t.Fatal(err)
		}
	}
	write(t, filepath.Join(dir, "job.toml"), demoSheet)
	b := serve(t, dir)
	b.ready()
	for i := range kinds {
		for _, n := range []int{long * i, long*i + long/2, long*i + long - 1} {
			_, picture := b.get("/api/still?width=0&frame=" + strconv.Itoa(n))
			img, err := jpeg.Decode(bytes.NewReader(picture))
			if err != nil {
				t.Fatalf("frame %d: %v", n, err)
			}
			if got, _ := testfootage.ReadNumber(img); got != n {
				t.Errorf("the still of frame %d carries %d", n, got)
			}
		}
	}
	s := b.until("the stand-ins", func(s state) bool {
		return !slices.ContainsFunc(s.Film.Parts, func(p filmPart) bool { return p.StandIn.State != "ready" && p.StandIn.State != "failed" })
	})
	rec := b.server.now().sittings[0].now.Load().recording
	for i, p := range s.Film.Parts {
		path, ready := b.server.now().sittings[0].stands.path(rec, i)
		if !ready || p.Playable {
			t.Errorf("%s: %+v", p.File, p)
			continue
		}
		numbers, times := look(t, tools, path)
		if len(numbers) != long {
			t.Errorf("%s: its stand-in has %d frames", p.File, len(numbers))
			continue
		}
		for k, n := range numbers {
			if at := (rec.Times[p.First+k] - rec.Times[p.First]).Seconds(); n != long*i+k || math.Abs(times[k]-at) > 1e-4 {
				t.Errorf("%s: frame %d of its stand-in carries %d, at %v, not %v", p.File, k, n, times[k], at)
			}
		}
	}
}
