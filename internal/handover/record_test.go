package handover

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"pushcue/internal/placing"
	"pushcue/internal/safefile"
	"pushcue/internal/seal"
	"pushcue/internal/shelf"
)

// New is an empty handover folder with its record.
func New(t *testing.T) *shelf.Shelf {
	t.Helper()
	dir := t.TempDir()
	out, work := filepath.Join(dir, "handover"), filepath.Join(dir, "work")
	for _, d := range []string{out, work} {
		if err := os.Mkdir(d, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	outDir, workDir := openedFolder(t, out), openedFolder(t, work)
	r, err := shelf.ReadRecord(workDir, "handover.record", outDir, seal.Of("", ""))
	if err != nil {
		t.Fatal(err)
	}
	return &shelf.Shelf{Folder: outDir, Temp: workDir, Record: r, Wanted: map[string]string{}, Closed: func() error { return nil }}
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
func again(f *shelf.Shelf, t *testing.T) *shelf.Shelf {
	t.Helper()
	r, err := shelf.ReadRecord(f.Record.Work, f.Record.Name, f.Folder, f.Record.Seal)
	if err != nil {
		t.Fatal(err)
	}
	return &shelf.Shelf{Folder: f.Folder, Temp: f.Temp, Record: r, Wanted: map[string]string{}, Closed: f.Closed}
}

func write(t *testing.T, f *shelf.Shelf, name, text string) {
	t.Helper()
	if err := f.Text(context.Background(), name, []byte(text)); err != nil {
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
	f := New(t)
	write(t, f, "log.csv", "a")
	g := again(f, t)
	write(t, g, "log.csv", "a")
	if !slices.Equal(g.Kept, []string{"log.csv"}) || len(g.Made) != 0 {
		t.Errorf("kept %q, made %q", g.Kept, g.Made)
	}
	write(t, g, "log.csv", "b")
	if content(t, g.Path("log.csv")) != "b" {
		t.Error("a changed text wasn't written")
	}
}

func TestOutdatedFilesOfOursAreRemoved(t *testing.T) {
	f := New(t)
	write(t, f, "stills/01.jpg", "a")
	write(t, f, "log.csv", "b")
	g := again(f, t)
	write(t, g, "log.csv", "b")
	if err := g.Clear(context.Background()); err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(g.Removed, []string{"stills/01.jpg"}) {
		t.Errorf("removed %q", g.Removed)
	}
	if _, err := os.Stat(g.Path("stills")); !os.IsNotExist(err) {
		t.Error("the empty folder stays")
	}
	if len(again(f, t).Record.Files) != 1 {
		t.Error("the record still tells of a file that is gone")
	}
}

func TestWhatSomebodyChangedStaysAndIsNamed(t *testing.T) {
	f := New(t)
	write(t, f, "log.csv", "a")
	write(t, f, "stills/01.jpg", "b")
	overwrite(t, f.Path("log.csv"), "changed by hand")
	overwrite(t, f.Path("stills/01.jpg"), "touched up")
	overwrite(t, f.Path("invoice.pdf"), "theirs")

	g := again(f, t)
	write(t, g, "log.csv", "c")
	if err := g.Clear(context.Background()); err != nil {
		t.Fatal(err)
	}
	if content(t, g.Path("log.csv")) != "changed by hand" || content(t, g.Path("stills/01.jpg")) != "touched up" || content(t, g.Path("invoice.pdf")) != "theirs" {
		t.Error("somebody's work was lost")
	}
	slices.Sort(g.Foreign)
	if !slices.Equal(g.Foreign, []string{"invoice.pdf", "log.csv", "stills/01.jpg"}) {
		t.Errorf("named %q", g.Foreign)
	}
	if !placing.AnyOpen(g.Warnings) {
		t.Error("nothing is said to be left open")
	}
}

// A run may end between the line in the record and the rename, or right after it:
// the file is ours in both cases, and isn't taken for finished in the first.
func TestARunCutShortLeavesNothingThatIsTakenForForeign(t *testing.T) {
	ctx := context.Background()
	f := New(t)
	write(t, f, "log.csv", "old")
	e := f.Record.Files["log.csv"]
	if err := f.Record.Note(shelf.Entry{Path: "log.csv", Key: "new key", SHA256: shelf.SumOf([]byte("new")), Before: e.SHA256}); err != nil {
		t.Fatal(err)
	}
	g := again(f, t)
	if c, _, err := g.Record.Condition(ctx, "log.csv"); c != shelf.Older || err != nil {
		t.Errorf("ahead of the rename: condition %d, %v", c, err)
	}
	if have, _ := g.Has(ctx, "log.csv", "new key"); have {
		t.Error("the old file is taken for the new one")
	}
	overwrite(t, g.Path("log.csv"), "new")
	if c, _, err := again(g, t).Record.Condition(ctx, "log.csv"); c != shelf.Current || err != nil {
		t.Errorf("after the rename: condition %d, %v", c, err)
	}
}

func TestATornLineOfTheRecordIsPassedOver(t *testing.T) {
	f := New(t)
	write(t, f, "log.csv", "a")
	text := content(t, f.Record.Path)
	overwrite(t, f.Record.Path, text+`{"path":"stills/01.jpg","key":"3a`)
	if g := again(f, t); len(g.Record.Files) != 1 {
		t.Errorf("the record tells of %d files", len(g.Record.Files))
	}
}

func TestWithoutARecordTheSumsTellWhatIsOurs(t *testing.T) {
	f := New(t)
	write(t, f, "log.csv", "a")
	overwrite(t, f.Path(shelf.SumsName), shelf.SumOf([]byte("a"))+"  log.csv\n")
	if err := os.Remove(f.Record.Path); err != nil {
		t.Fatal(err)
	}
	g := again(f, t)
	write(t, g, "log.csv", "b")
	if len(g.Foreign) != 0 || content(t, g.Path("log.csv")) != "b" {
		t.Errorf("foreign: %q", g.Foreign)
	}
}

func TestALinkInTheHandoverIsNeverOurs(t *testing.T) {
	f := New(t)
	elsewhere := filepath.Join(t.TempDir(), "precious")
	overwrite(t, elsewhere, "theirs")
	if err := os.Symlink(elsewhere, f.Path("log.csv")); err != nil {
		t.Skip("no links on this system:", err)
	}
	write(t, f, "log.csv", "ours")
	if content(t, elsewhere) != "theirs" || len(f.Foreign) != 1 {
		t.Error("a link was written through or replaced")
	}
}
