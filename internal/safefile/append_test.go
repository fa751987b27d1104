package safefile

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
)

func contents(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func TestAppendPutsLinesBehindTheOthers(t *testing.T) {
	path := filepath.Join(t.TempDir(), "lines")
	for _, line := range []string{"one\n", "two\nthree\n"} {
		if err := Append(t.Context(), path, []byte(line)); err != nil {
			t.Fatal(err)
		}
	}
	if got := contents(t, path); got != "one\ntwo\nthree\n" {
		t.Errorf("%q", got)
	}
}

func TestAppendClosesALineThatWasCutOff(t *testing.T) {
	path := filepath.Join(t.TempDir(), "lines")
	if err := os.WriteFile(path, []byte("one\ntw"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := Append(t.Context(), path, []byte("three\n")); err != nil {
		t.Fatal(err)
	}
	if got := contents(t, path); got != "one\ntw\nthree\n" {
		t.Errorf("%q", got)
	}
}

func TestAppendThatFailsLeavesNothingHalf(t *testing.T) {
	path := filepath.Join(t.TempDir(), "lines")
	if err := Append(t.Context(), path, []byte("one\n")); err != nil {
		t.Fatal(err)
	}
	defer func(w func(*os.File, []byte, int64) (int, error), s func(*os.File) error) { writeAt, syncEnd = w, s }(writeAt, syncEnd)
	full := func(f *os.File, b []byte, at int64) (int, error) {
		n, _ := f.WriteAt(b[:2], at)
		return n, syscall.ENOSPC
	}
	unsafe := func(*os.File) error { return syscall.EIO }
	for name, fault := range map[string]error{"the disk is full": syscall.ENOSPC, "the disk doesn't keep it": syscall.EIO} {
		writeAt, syncEnd = (*os.File).WriteAt, (*os.File).Sync
		if fault == syscall.ENOSPC {
			writeAt = full
		} else {
			syncEnd = unsafe
		}
		if err := Append(t.Context(), path, []byte("two\n")); !errors.Is(err, fault) {
			t.Errorf("%s: %v", name, err)
		}
		if got := contents(t, path); got != "one\n" {
			t.Errorf("%s: %q", name, got)
		}
	}
}

func TestManyAppendInTurn(t *testing.T) {
	path := filepath.Join(t.TempDir(), "lines")
	var all sync.WaitGroup
	for i := range 4 {
		all.Go(func() {
			for n := range 10 {
				line := fmt.Appendf(nil, "%d says %d\n", i, n)
				err := Append(t.Context(), path, line)
				for errors.Is(err, ErrBusy) { // the others have been slow; nothing was written
					err = Append(t.Context(), path, line)
				}
				if err != nil {
					t.Error(err)
				}
			}
		})
	}
	all.Wait()
	lines := strings.Split(strings.TrimSuffix(contents(t, path), "\n"), "\n")
	seen := map[string]bool{}
	for _, l := range lines {
		seen[l] = true
	}
	if len(lines) != 40 || len(seen) != 40 {
		t.Errorf("%d lines, %d different", len(lines), len(seen))
	}
}

func TestAppendWaitsForItsTurnAndNoLonger(t *testing.T) {
	path := filepath.Join(t.TempDir(), "lines")
	if err := Append(t.Context(), path, []byte("one\n")); err != nil {
		t.Fatal(err)
	}
	held, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer held.Close()
	if taken, err := Lock(held, true); !taken || err != nil {
		t.Skip("this disk knows no locks")
	}
	ctx, stop := context.WithCancel(t.Context())
	stop()
	if err := Append(ctx, path, []byte("two\n")); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
	if got := contents(t, path); got != "one\n" {
		t.Errorf("%q", got)
	}
}
