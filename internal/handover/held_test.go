package handover

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/job"
	"pushcue/internal/placing"
	"pushcue/internal/reach"
	"pushcue/internal/safefile"
	"pushcue/internal/testfootage"
)

// While a handover is made the recording is exchanged for another one under its path:
// nothing that was made of the other one is recorded as made of the first.
func TestASourceExchangedWhileItIsReadIsFound(t *testing.T) {
	dir := frozen(t, "small")
	must(t, os.RemoveAll(filepath.Join(dir, "handover")))
	must(t, os.RemoveAll(filepath.Join(dir, "work")))
	push, swapped := filepath.Join(dir, "push.mp4"), false
	undo := safefile.OnEachStep(func(op, path string) error {
		if op == "create" && strings.Contains(path, "unfinished-") && !swapped { // its sum is known, and something is about to be published
			swapped = true
			other := content(t, push)
			must(t, os.Rename(push, push+".aside"))
			overwrite(t, push, other)
		}
		return nil
	})
	defer undo()
	v, err := job.Open(t.Context(), job.Ask{Path: dir})
	must(t, err)
	_, err = Make(t.Context(), realTools(t), v, Options{Only: []string{"subtitles", "log"}}, nil)
	if !swapped || err == nil || !strings.Contains(err.Error(), "changed while it was read") {
		t.Errorf("exchanged: %v; %v", swapped, err)
	}
	if text := content(t, filepath.Join(dir, "work", "handover.record")); text != "" {
		t.Errorf("recorded: %s", text)
	}
}

// An exchange is of the file at path for the one at second while those runs of ffmpeg last
// whose arguments hold one of the marks.
type exchange struct {
	path, second string
	marks        []string
	runs         int // that it was done for
}

func exchanging(t *testing.T, all ...*exchange) {
	t.Helper()
	t.Cleanup(ffmpeg.OnStart(func(_ string, args []string) func() {
		line := strings.Join(args, " ")
		for _, e := range all {
			if !strings.Contains(line, "file:"+e.path) || !slices.ContainsFunc(e.marks, func(m string) bool { return strings.Contains(line, m) }) {
				continue
			}
			e.runs++
			must(t, errors.Join(os.Rename(e.path, e.path+".aside"), os.Rename(e.second, e.path)))
			return func() { must(t, errors.Join(os.Rename(e.path, e.second), os.Rename(e.path+".aside", e.path))) }
		}
		return func() {}
	}))
}

// Other files lie under the sources' paths while ffmpeg runs, and are gone before
// anything is published: what is made is of the first ones.
func TestNothingIsMadeOfAFileThatWasExchangedForARun(t *testing.T) {
	dir := jobOf(t, "", shortLog, plain(t))
	spare := t.TempDir()
	recording, otherRecording := filepath.Join(dir, "part1.mp4"), filepath.Join(spare, "other.mp4")
	testfootage.Link(t, testfootage.Spec{Frames: 60, First: 5000, Width: 160, Height: 120, Audio: true}, otherRecording)
	note, otherNote := filepath.Join(dir, "spoken", "1.wav"), filepath.Join(spare, "other.wav")
	saying(t, note, 700, 1)
	saying(t, otherNote, 1300, 1)
	photo, otherPhoto := filepath.Join(dir, "photos", "1.webp"), filepath.Join(spare, "other.webp")
	for path, size := range map[string]string{photo: "64x48", otherPhoto: "48x64"} {
		must(t, os.MkdirAll(filepath.Dir(path), 0o755))
		_, err := realTools(t).Do(t.Context(), ffmpeg.Run{Args: []string{"-f", "lavfi", "-i", "testsrc2=s=" + size, "-frames:v", "1", "-c:v", "libwebp", "file:" + path}})
		must(t, err)
	}
	// The recording is asked what it holds, then burned.
	asked := exchange{path: recording, second: otherRecording, marks: []string{"-show_streams", "captions0.ass"}}
	heard := exchange{path: note, second: otherNote, marks: []string{"ebur128", "ipod"}}
	decoded := exchange{path: photo, second: otherPhoto, marks: []string{"image2pipe"}}
	exchanging(t, &asked, &heard, &decoded)
	r := makeJob(t, dir, Options{Only: []string{"video", "spoken", "photos"}})
	if asked.runs != 2 || heard.runs < 2 || decoded.runs != 1 {
		t.Fatalf("exchanged for %d, %d and %d runs", asked.runs, heard.runs, decoded.runs)
	}
	if got := numbers(t, filepath.Join(r.Out, "video", "job.mp4")); len(got) != 100 || got[0] != 0 {
		t.Errorf("the video holds %d frames from %d", len(got), got[0])
	}
	sound := testfootage.Hear(t, filepath.Join(r.Out, "spoken", "01_0.8m_roots.m4a"), 8000)
	if !hears(sound, 0.5, 700) || hears(sound, 0.5, 1300) {
		t.Error("the spoken note is the other one's")
	}
	if size := still(t, filepath.Join(r.Out, "photos", "01_0.8m_roots.jpg")).Bounds().Size(); size.X != 64 {
		t.Errorf("the photo is %v", size)
	}
}

// The same when a job is only looked at, and when the other file stays: then nothing is
// said of it.
func TestACheckedRecordingIsTheOneThatWasOpened(t *testing.T) {
	dir := jobOf(t, "", shortLog, plain(t))
	recording, second := filepath.Join(dir, "part1.mp4"), filepath.Join(t.TempDir(), "other.mp4")
	testfootage.Link(t, testfootage.Spec{Frames: 60, Width: 160, Height: 120, Audio: true}, second)
	asked := exchange{path: recording, second: second, marks: []string{"-show_streams"}}
	exchanging(t, &asked)
	v, err := job.Open(t.Context(), job.Ask{Path: dir})
	must(t, err)
	p, err := placing.Place(t.Context(), realTools(t), v.Jobs[0], placing.PlaceOptions{})
	if err != nil || len(p.Recording.Times) != 100 || asked.runs != 1 {
		t.Errorf("exchanged for %d runs: %v", asked.runs, err)
	}
	once := false
	defer ffmpeg.OnStart(func(_ string, args []string) func() {
		if !once {
			once = true
			must(t, os.Rename(second, recording))
		}
		return func() {}
	})()
	if _, err := placing.Place(t.Context(), realTools(t), v.Jobs[0], placing.PlaceOptions{}); err == nil || !strings.Contains(err.Error(), "part1.mp4: changed while it was read") {
		t.Errorf("exchanged for good: %v", err)
	}
}

// An exchange between two readings of one photo: neither the second file's pixels nor a
// mixture of both.
func TestAPhotoIsReadFromOneFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "x.webp")
	_, err := realTools(t).Do(t.Context(), ffmpeg.Run{Args: []string{"-f", "lavfi", "-i", "testsrc2=s=64x48", "-frames:v", "1", "-c:v", "libwebp", "file:" + path}})
	must(t, err)
	j := &job.Job{Reach: &reach.Reach{Folders: []string{dir}}}
	source := j.Pinned(job.Source{Path: path, Name: "x.webp"})
	must(t, source.Unchanged())
	data := content(t, path)
	must(t, os.Rename(path, path+".aside"))
	overwrite(t, path, data)
	if p, err := decodeElse(context.Background(), realTools(t), source, []byte(data)); p != nil || !errors.Is(err, reach.ErrChanged) {
		t.Errorf("%v, %v", p, err)
	}
}
