//go:build unix

package safefile

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"golang.org/x/sys/unix"
)

func TestModesAreThoseOfAnyNewFileOrKept(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x")
	plain := filepath.Join(t.TempDir(), "plain")
	if err := os.WriteFile(plain, nil, 0o666); err != nil {
		t.Fatal(err)
	}
	if err := WriteBytes(path, nil); err != nil {
		t.Fatal(err)
	}
	if mode(t, path) != mode(t, plain) {
		t.Errorf("a new file has %v, others %v", mode(t, path), mode(t, plain))
	}
	if err := os.Chmod(path, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := WriteBytes(path, nil); err != nil || mode(t, path) != 0o600 {
		t.Errorf("%v: replaced, it has %v", err, mode(t, path))
	}
}

func mode(t *testing.T, path string) fs.FileMode {
	t.Helper()
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	return info.Mode().Perm()
}

func TestNewNameWithoutTheSystemsHelp(t *testing.T) {
	dir := t.TempDir()
	from, to := filepath.Join(dir, "a"), filepath.Join(dir, "b")
	if err := os.WriteFile(from, []byte("x"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := linkNew(opened(t, dir).root, "a", "b"); err != nil || names(t, dir) != "b" {
		t.Errorf("%v: %s", err, names(t, dir))
	}
	if err := os.WriteFile(from, []byte("y"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := linkNew(opened(t, dir).root, "a", "b"); !errors.Is(err, fs.ErrExist) || read(t, to) != "x" {
		t.Errorf("%v: %q", err, read(t, to))
	}
}

// Of many that create the same file at once, one succeeds.
func TestOnlyOneCreatesANewFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "job.toml")
	var all sync.WaitGroup
	results := make(chan error, 20)
	for range cap(results) {
		all.Go(func() { results <- CreateNew(path, []byte("x")) })
	}
	all.Wait()
	close(results)
	won := 0
	for err := range results {
		if err == nil {
			won++
		} else if !errors.Is(err, fs.ErrExist) {
			t.Error(err)
		}
	}
	if won != 1 {
		t.Errorf("%d succeeded", won)
	}
}

func TestSourceBehindALinkIsNotReplaced(t *testing.T) {
	dir := t.TempDir()
	source, link := filepath.Join(dir, "filmed.mp4"), filepath.Join(dir, "run.mp4")
	if err := os.WriteFile(source, []byte("original"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(source, link); err != nil {
		t.Fatal(err)
	}
	if err := WriteBytes(link, []byte("new")); err != nil {
		t.Fatal(err)
	}
	if read(t, source) != "original" || read(t, link) != "new" {
		t.Errorf("source %q, link %q", read(t, source), read(t, link))
	}
}

// A program that is being started has copies of all open files for a moment.
func TestUnlockedFileIsFreeThoughAnotherProcessStillHasIt(t *testing.T) {
	path := filepath.Join(t.TempDir(), "lock")
	if err := os.WriteFile(path, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	open := func() *os.File {
		f, err := os.OpenFile(path, os.O_RDWR, 0)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { f.Close() })
		return f
	}
	first := open()
	if taken, err := Lock(first, true); !taken || err != nil {
		t.Fatalf("taken %v, %v", taken, err)
	}
	copied, err := unix.Dup(int(first.Fd())) // as a started process has it
	if err != nil {
		t.Fatal(err)
	}
	defer unix.Close(copied)
	if err := errors.Join(Unlock(first), first.Close()); err != nil {
		t.Fatal(err)
	}
	if taken, err := Lock(open(), true); !taken || err != nil {
		t.Errorf("taken %v, %v", taken, err)
	}
}
