package review

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pushcue/frames"
)

// A stand-in is found again after the job folder was moved; those of recordings that
// are gone, and halves, don't stay.
func TestAStandInIsKnownByWhatItStandsFor(t *testing.T) {
	dir := jobFolder(t, demoSheet, demoLog)
	isReady := func(s seen) bool { return s.Film != nil && s.Film.Parts[1].StandIn.State == "ready" }
	b := serve(t, dir)
	b.until("the stand-in", isReady)
	path, ok := b.server.now().sittings[0].stands.path(1)
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
	b := serve(t, jobFolder(t, demoSheet, demoLog))
	b.ready()
	one := b.server.now().sittings[0]
	rec := one.now.Load().recording
	alone := &frames.Recording{Parts: rec.Parts[:1], Times: rec.Times[:rec.Parts[0].Count], Width: rec.Width, Height: rec.Height, End: rec.Times[rec.Parts[0].Count]}
	path, err := one.stands.name(rec, 0)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("/dev/full", path+".unfinished"); err != nil {
		t.Fatal(err)
	}
	one.stands.make(t.Context(), alone, 0)
	if now := one.stands.now(0); now.State != "failed" || !strings.Contains(now.Why, "drive is full") {
		t.Errorf("%+v", now)
	}
	if left, _ := filepath.Glob(path + "*"); len(left) > 0 {
		t.Errorf("it left %v", left)
	}
}
