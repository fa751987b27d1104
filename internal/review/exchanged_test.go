package review

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pushcue/frames"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/reach"
	"pushcue/internal/testfootage"
)

// Another recording lies under the path while a still is sought: the still is of the
// first one. Once the other one stays there, no still comes at all.
func TestStillsAreOfTheRecordingThatWasOpened(t *testing.T) {
	tools, err := findTools(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	path, aside, second := filepath.Join(dir, "push.mp4"), filepath.Join(dir, "aside.mp4"), filepath.Join(dir, "second.mp4")
	spec := testfootage.Spec{Frames: 40, Width: 160, Height: 120}
	testfootage.Link(t, spec, path)
	other := filepath.Join(dir, "other.mp4")
	testfootage.Link(t, spec, other)
	spec.First = 5000
	testfootage.Link(t, spec, second)
	rec, err := frames.Open(t.Context(), tools, []*reach.Source{reach.Named(path, "push.mp4")}, frames.Options{})
	if err != nil {
		t.Fatal(err)
	}
	work := t.TempDir()
	s := newStills(tools, work, work)
	runs := 0
	undo := ffmpeg.OnStart(func(_ string, args []string) func() {
		// The jobs of other tests are open meanwhile, and run ffmpeg in the background.
		if !strings.Contains(strings.Join(args, " "), "file:"+path) {
			return func() {}
		}
		runs++
		if err := errors.Join(os.Rename(path, aside), os.Rename(second, path)); err != nil {
			t.Error(err)
		}
		return func() {
			if err := errors.Join(os.Rename(path, second), os.Rename(aside, path)); err != nil {
				t.Error(err)
			}
		}
	})
	_, background := frames.Open(t.Context(), tools, []*reach.Source{reach.Named(other, "other.mp4")}, frames.Options{})
	picture, err := s.fetch(t.Context(), rec, stillKey{rec, 20, 160})
	undo()
	if background != nil {
		t.Fatal(background)
	}
	if err != nil || runs != 1 {
		t.Fatalf("%d runs, %v", runs, err)
	}
	if n := numberOn(t, picture); n != 20 {
		t.Errorf("frame %d came for 20", n)
	}
	if err := os.Rename(second, path); err != nil {
		t.Fatal(err)
	}
	if picture, err := s.fetch(t.Context(), rec, stillKey{rec, 30, 160}); err == nil || !strings.Contains(err.Error(), "push.mp4: changed while it was read") {
		t.Errorf("frame %d came, %v", numberOn(t, picture), err)
	}
}
