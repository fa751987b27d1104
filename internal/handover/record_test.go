package handover

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"pushcue/internal/safefile"
)

// newFolder is an empty handover folder with its record.
func newFolder(t *testing.T) *folder {
	t.Helper()
	dir := t.TempDir()
	out, work := filepath.Join(dir, "handover"), filepath.Join(dir, "work")
	for _, d := range []string{out, work} {
		if err := os.Mkdir(d, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	outDir, workDir := openedFolder(t, out), openedFolder(t, work)
	r, err := readRecord(workDir, "handover.record", outDir, sealOf("", ""))
	if err != nil {
		t.Fatal(err)
	}
	return &folder{out: outDir, tmp: workDir, record: r, wanted: map[string]string{}, closed: func() error { return nil }}
}

func openedFolder(t *testing.T, path string) *safefile.Folder {
	t.Helper()
	f, err := safefile.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	return f
}

// again is the same folder in the next run.
func (f *folder) again(t *testing.T) *folder {
	t.Helper()
	r, err := readRecord(f.record.work, f.record.name, f.out, f.record.seal)
	if err != nil {
		t.Fatal(err)
	}
	return &folder{out: f.out, tmp: f.tmp, record: r, wanted: map[string]string{}, closed: f.closed}
}

func write(t *testing.T, f *folder, name, text string) {
	t.Helper()
	if err := f.text(context.Background(), name, []byte(text)); err != nil {
		t.Fatal(err)
	}
}

func overwrite(t *testing.T, path, text string) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func content(t *testing.T, path string) string {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func TestUnchangedFilesAreKept(t *testing.T) {
	f := newFolder(t)
	write(t, f, "log.csv", "a")
	g := f.again(t)
	write(t, g, "log.csv", "a")
	if !slices.Equal(g.kept, []string{"log.csv"}) || len(g.made) != 0 {
		t.Errorf("kept %q, made %q", g.kept, g.made)
	}
	write(t, g, "log.csv", "b")
	if content(t, g.path("log.csv")) != "b" {
		t.Error("a changed text wasn't written")
	}
}

func TestOutdatedFilesOfOursAreRemoved(t *testing.T) {
	f := newFolder(t)
	write(t, f, "stills/01.jpg", "a")
	write(t, f, "log.csv", "b")
	g := f.again(t)
	write(t, g, "log.csv", "b")
	if err := g.clear(context.Background()); err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(g.removed, []string{"stills/01.jpg"}) {
		t.Errorf("removed %q", g.removed)
	}
	if _, err := os.Stat(g.path("stills")); !os.IsNotExist(err) {
		t.Error("the empty folder stays")
	}
	if len(f.again(t).record.files) != 1 {
		t.Error("the record still tells of a file that is gone")
	}
}

func TestWhatSomebodyChangedStaysAndIsNamed(t *testing.T) {
	f := newFolder(t)
	write(t, f, "log.csv", "a")
	write(t, f, "stills/01.jpg", "b")
	overwrite(t, f.path("log.csv"), "changed by hand")
	overwrite(t, f.path("stills/01.jpg"), "touched up")
	overwrite(t, f.path("invoice.pdf"), "theirs")

	g := f.again(t)
	write(t, g, "log.csv", "c")
	if err := g.clear(context.Background()); err != nil {
		t.Fatal(err)
	}
	if content(t, g.path("log.csv")) != "changed by hand" || content(t, g.path("stills/01.jpg")) != "touched up" || content(t, g.path("invoice.pdf")) != "theirs" {
		t.Error("somebody's work was lost")
	}
	slices.Sort(g.foreign)
	if !slices.Equal(g.foreign, []string{"invoice.pdf", "log.csv", "stills/01.jpg"}) {
		t.Errorf("named %q", g.foreign)
	}
	if !anyOpen(g.warnings) {
		t.Error("nothing is said to be left open")
	}
}

// A run may end between the line in the record and the rename, or right after it:
// the file is ours in both cases, and isn't taken for finished in the first.
func TestARunCutShortLeavesNothingThatIsTakenForForeign(t *testing.T) {
	ctx := context.Background()
	f := newFolder(t)
	write(t, f, "log.csv", "old")
	e := f.record.files["log.csv"]
	if err := f.record.note(entry{Path: "log.csv", Key: "new key", SHA256: sumOf([]byte("new")), Before: e.SHA256}); err != nil {
		t.Fatal(err)
	}
	g := f.again(t)
	if c, _, err := g.record.condition(ctx, "log.csv"); c != older || err != nil {
		t.Errorf("ahead of the rename: condition %d, %v", c, err)
	}
	if have, _ := g.has(ctx, "log.csv", "new key"); have {
		t.Error("the old file is taken for the new one")
	}
	overwrite(t, g.path("log.csv"), "new")
	if c, _, err := g.again(t).record.condition(ctx, "log.csv"); c != current || err != nil {
		t.Errorf("after the rename: condition %d, %v", c, err)
	}
}

func TestATornLineOfTheRecordIsPassedOver(t *testing.T) {
	f := newFolder(t)
	write(t, f, "log.csv", "a")
	text := content(t, f.record.path)
	overwrite(t, f.record.path, text+`{"path":"stills/01.jpg","key":"3a`)
	if g := f.again(t); len(g.record.files) != 1 {
		t.Errorf("the record tells of %d files", len(g.record.files))
	}
}

func TestWithoutARecordTheSumsTellWhatIsOurs(t *testing.T) {
	f := newFolder(t)
	write(t, f, "log.csv", "a")
	overwrite(t, f.path(sumsName), sumOf([]byte("a"))+"  log.csv\n")
	if err := os.Remove(f.record.path); err != nil {
		t.Fatal(err)
	}
	g := f.again(t)
	write(t, g, "log.csv", "b")
	if len(g.foreign) != 0 || content(t, g.path("log.csv")) != "b" {
		t.Errorf("foreign: %q", g.foreign)
	}
}

func TestALinkInTheHandoverIsNeverOurs(t *testing.T) {
	f := newFolder(t)
	elsewhere := filepath.Join(t.TempDir(), "precious")
	overwrite(t, elsewhere, "theirs")
	if err := os.Symlink(elsewhere, f.path("log.csv")); err != nil {
		t.Skip("no links on this system:", err)
	}
	write(t, f, "log.csv", "ours")
	if content(t, elsewhere) != "theirs" || len(f.foreign) != 1 {
		t.Error("a link was written through or replaced")
	}
}
