package review

import (
	"bytes"
	"net/http"
	"os"
	"path/filepath"
	"testing"

	"golang.org/x/sys/unix"

	"pushcue/internal/job"
	"pushcue/timeline/edits"
	"pushcue/timeline/words"
)

// What cannot be written isn't acknowledged, and leaves the file as it was.
func TestAFullDiskRefusesACorrection(t *testing.T) {
	disk := t.TempDir()
	if err := unix.Mount("tmpfs", disk, "tmpfs", 0, "size=256k"); err != nil {
		t.Skipf("no small disk can be set up here, which takes root: %v; appending to a full disk is tested in internal/safefile", err)
	}
	t.Cleanup(func() {
		if err := unix.Unmount(disk, 0); err != nil {
			t.Errorf("%s stays mounted: %v", disk, err)
		}
	})
	dir := filepath.Join(disk, "77-A")
	if err := os.Mkdir(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	write(t, filepath.Join(dir, "rec.mp4"), "film")
	visit, err := job.Open(t.Context(), job.Ask{Path: dir})
	if err != nil {
		t.Fatal(err)
	}
	job := visit.Jobs[0]
	if err := job.Record(t.Context(), edits.Edit{ID: "a", What: edits.Aside, Row: 1}); err != nil {
		t.Fatal(err)
	}
	_ = os.WriteFile(filepath.Join(disk, "filler"), make([]byte, 1<<20), 0o644) // full before all is written
	before, _ := os.ReadFile(filepath.Join(dir, edits.File))
	long := edits.Edit{ID: "b", What: edits.Noted, Code: "x", Text: string(bytes.Repeat([]byte("x"), 8<<10))}
	if status, c := understand(job.Record(t.Context(), long), words.English()); status != http.StatusInsufficientStorage || c.Hint == "" {
		t.Errorf("%d %+v", status, c)
	}
	if after, _ := os.ReadFile(filepath.Join(dir, edits.File)); len(before) == 0 || !bytes.Equal(after, before) {
		t.Errorf("the file was %q and is %q", before, after)
	}
}
