package safefile

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"
)

func read(t *testing.T, path string) string {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func opened(t *testing.T, dir string) *Folder {
	t.Helper()
	f, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	return f
}

// names lists a folder, so that a leftover shows.
func names(t *testing.T, dir string) string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var all []string
	for _, e := range entries {
		all = append(all, e.Name())
	}
	return strings.Join(all, " ")
}

func TestFilesAreCreatedAndReplaced(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log.csv")
	for _, text := range []string{"first", "second, and longer", ""} {
		if err := WriteBytes(path, []byte(text)); err != nil {
			t.Fatal(err)
		}
		if got := read(t, path); got != text {
			t.Errorf("%q, want %q", got, text)
		}
	}
	if got := names(t, filepath.Dir(path)); got != "log.csv" {
		t.Errorf("the folder holds %s", got)
	}
}

func TestNothingChangesWhenWritingFails(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log.csv")
	if err := WriteBytes(path, []byte("old")); err != nil {
		t.Fatal(err)
	}
	broken := errors.New("the source broke")
	err := Write(path, func(w io.Writer) error {
		io.WriteString(w, "half of the")
		return broken
	})
	if !errors.Is(err, broken) || read(t, path) != "old" || names(t, filepath.Dir(path)) != "log.csv" {
		t.Errorf("%v: %q, %s", err, read(t, path), names(t, filepath.Dir(path)))
	}
}

func TestNothingIsLeftWhenWritingPanics(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log.csv")
	func() {
		defer func() { recover() }()
		Write(path, func(io.Writer) error { panic("a mistake") })
	}()
	if got := names(t, filepath.Dir(path)); got != "" {
		t.Errorf("left: %s", got)
	}
}

// weak is a disk that fails at one step.
type weak struct {
	handle
	room             int // bytes it takes; below 0 for no limit
	syncing, closing error
}

func (w *weak) Write(b []byte) (int, error) {
	if w.room >= 0 && len(b) > w.room {
		n, _ := w.handle.Write(b[:w.room])
		w.room -= n
		return n, &fs.PathError{Op: "write", Path: "temporary", Err: syscall.ENOSPC}
	}
	w.room -= len(b)
	return w.handle.Write(b)
}

func (w *weak) Sync() error {
	if w.syncing != nil {
		return w.syncing
	}
	return w.handle.Sync()
}

func (w *weak) Close() error {
	if err := w.handle.Close(); err != nil {
		return err
	}
	return w.closing
}

func TestFaultsOfTheDisk(t *testing.T) {
	for name, c := range map[string]struct {
		disk    weak
		rename  error
		want    error
		succeed bool
	}{
		"full disk":                       {disk: weak{room: 5}, want: syscall.ENOSPC},
		"full disk found on sync":         {disk: weak{room: -1, syncing: syscall.ENOSPC}, want: syscall.ENOSPC},
		"full disk found on close":        {disk: weak{room: -1, closing: syscall.EIO}, want: syscall.EIO},
		"rename refused":                  {disk: weak{room: -1}, rename: syscall.EROFS, want: syscall.EROFS},
		"a drive that can't sync is fine": {disk: weak{room: -1, syncing: errors.ErrUnsupported}, succeed: true},
	} {
		t.Run(name, func(t *testing.T) {
			open, move := openTemp, rename
			defer func() { openTemp, rename = open, move }()
			openTemp = func(dir *os.Root, name string, perm fs.FileMode) (handle, error) {
				f, err := open(dir, name, perm)
				disk := c.disk
				disk.handle = f
				return &disk, err
			}
			rename = func(a *os.Root, from string, b *os.Root, to string) error {
				if c.rename != nil {
					return &os.LinkError{Op: "rename", Old: from, New: to, Err: c.rename}
				}
				return move(a, from, b, to)
			}
			path := filepath.Join(t.TempDir(), "log.csv")
			if err := os.WriteFile(path, []byte("old"), 0o644); err != nil {
				t.Fatal(err)
			}
			// The failing write is swallowed, as encoders do: it must come out all the same.
			err := Write(path, func(w io.Writer) error {
				w.Write([]byte("new "))
				w.Write([]byte("content"))
				return nil
			})
			if c.succeed {
				if err != nil || read(t, path) != "new content" {
					t.Errorf("%v: %q", err, read(t, path))
				}
				return
			}
			if !errors.Is(err, c.want) || !strings.Contains(err.Error(), path) || strings.Contains(err.Error(), tempSuffix) {
				t.Errorf("%v, want %v and the final name alone", err, c.want)
			}
			if read(t, path) != "old" || names(t, filepath.Dir(path)) != "log.csv" {
				t.Errorf("%q, %s", read(t, path), names(t, filepath.Dir(path)))
			}
		})
	}
}

func TestNewFilesReplaceNothing(t *testing.T) {
	path := filepath.Join(t.TempDir(), "job.toml")
	if err := CreateNew(path, []byte("mine")); err != nil {
		t.Fatal(err)
	}
	if err := CreateNew(path, []byte("another")); !errors.Is(err, fs.ErrExist) {
		t.Errorf("%v", err)
	}
	if read(t, path) != "mine" || names(t, filepath.Dir(path)) != "job.toml" {
		t.Errorf("%q, %s", read(t, path), names(t, filepath.Dir(path)))
	}
}

func TestAProgramThatHoldsTheNameIsWaitedFor(t *testing.T) {
	held, waited := 0, time.Duration(0)
	defer func(old func(time.Duration)) { pause = old }(pause)
	pause = func(d time.Duration) { waited += d }
	err := patientlyWith(func(error) bool { return true }, func() error {
		if held++; held < 4 {
			return syscall.EACCES
		}
		return nil
	})
	if err != nil || held != 4 || waited != 35*time.Millisecond {
		t.Errorf("%v after %d tries and %v", err, held, waited)
	}
	err = patientlyWith(func(error) bool { return true }, func() error { return syscall.EACCES })
	if !errors.Is(err, syscall.EACCES) || waited > 3*time.Second {
		t.Errorf("%v after %v", err, waited)
	}
}

func TestMove(t *testing.T) {
	dir := t.TempDir()
	from, to := filepath.Join(dir, "a.tmp"), filepath.Join(dir, "run.mp4")
	for name, text := range map[string]string{from: "new", to: "old"} {
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	folder := opened(t, dir)
	if err := folder.Move("a.tmp", folder, "run.mp4"); err != nil || read(t, to) != "new" || names(t, dir) != "run.mp4" {
		t.Errorf("%v: %q, %s", err, read(t, to), names(t, dir))
	}
	if err := folder.Move("a.tmp", folder, "run.mp4"); !errors.Is(err, fs.ErrNotExist) || read(t, to) != "new" {
		t.Errorf("%v: %q", err, read(t, to))
	}
}

func TestFileIsDoneOnce(t *testing.T) {
	f, err := Create(filepath.Join(t.TempDir(), "x"))
	if err != nil {
		t.Fatal(err)
	}
	io.WriteString(f, "x")
	if err := f.Commit(); err != nil {
		t.Fatal(err)
	}
	f.Abort()
	if err := f.Commit(); !errors.Is(err, fs.ErrClosed) {
		t.Errorf("committed twice: %v", err)
	}
	if read(t, f.path) != "x" {
		t.Error("aborting undid it")
	}
}

func TestMissingFolderIsAClearError(t *testing.T) {
	path := filepath.Join(t.TempDir(), "missing", "x")
	if err := WriteBytes(path, nil); !errors.Is(err, fs.ErrNotExist) || !strings.Contains(err.Error(), path) {
		t.Errorf("%v", err)
	}
}

func TestSweepTakesOnlyOurLeftovers(t *testing.T) {
	dir := t.TempDir()
	keep := []string{"log.csv", ".pushcue-notes.tmp", ".pushcue-0123456789abcdef.tmp.bak", "pushcue-0123456789abcdef.tmp", ".pushcue-0123456789ABCDEF.tmp"}
	for _, name := range append(slices.Clone(keep), ".pushcue-0123456789abcdef.tmp") {
		if err := os.WriteFile(filepath.Join(dir, name), nil, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	f, err := Create(filepath.Join(dir, "log.csv"))
	if err != nil {
		t.Fatal(err)
	}
	f.f.Close() // as a killed program leaves it
	removed, err := opened(t, dir).Sweep(context.Background())
	if err != nil || len(removed) != 2 {
		t.Errorf("removed %v, %v", removed, err)
	}
	slices.Sort(keep)
	if got := names(t, dir); got != strings.Join(keep, " ") {
		t.Errorf("left %s", got)
	}
}

func TestSameFile(t *testing.T) {
	dir := t.TempDir()
	a, b := filepath.Join(dir, "a.mp4"), filepath.Join(dir, "b.mp4")
	for _, path := range []string{a, b} {
		if err := os.WriteFile(path, []byte("x"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	link, soft := filepath.Join(dir, "hard.mp4"), filepath.Join(dir, "soft.mp4")
	if err := os.Link(a, link); err != nil {
		t.Logf("no hard links here: %v", err)
		link = a
	}
	if err := os.Symlink(a, soft); err != nil {
		t.Logf("no symbolic links here: %v", err)
		soft = a
	}
	for _, c := range []struct {
		a, b string
		want bool
	}{
		{a, a, true}, {a, b, false}, {a, link, true}, {a, soft, true}, {soft, link, true},
		{a, filepath.Join(dir, ".", "x", "..", "a.mp4"), true},
		{a, filepath.Join(dir, "missing"), false}, {filepath.Join(dir, "missing"), filepath.Join(dir, "missing"), false},
	} {
		if got, err := SameFile(c.a, c.b); err != nil || got != c.want {
			t.Errorf("%s and %s: %v %v", c.a, c.b, got, err)
		}
	}
	upper := filepath.Join(dir, "A.MP4")
	if _, err := os.Stat(upper); err == nil { // a drive that takes upper and lower case for one
		if got, err := SameFile(a, upper); err != nil || !got {
			t.Errorf("another case: %v %v", got, err)
		}
	}
}
