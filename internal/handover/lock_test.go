package handover

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestASecondRunIsToldWhoIsAtWork(t *testing.T) {
	work := t.TempDir()
	first, err := takeLock(work)
	if err != nil {
		t.Fatal(err)
	}
	_, err = takeLock(work)
	var trouble *Trouble
	if !errors.As(err, &trouble) || !strings.Contains(trouble.Text.String(), "process") {
		t.Fatalf("got %v", err)
	}
	first.release()
	second, err := takeLock(work)
	if err != nil {
		t.Fatalf("after the first ended: %v", err)
	}
	second.release()
}

func TestALockLeftByADeadRunHoldsNobodyUp(t *testing.T) {
	work := t.TempDir()
	if err := os.WriteFile(filepath.Join(work, "lock"), []byte("999999999\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	l, err := takeLock(work)
	if err != nil {
		t.Fatal(err)
	}
	l.release()
}

func TestReadersHoldMakeOffAndMakeHoldsReadersOff(t *testing.T) {
	f := &Finished{work: t.TempDir()}
	if _, err := f.Hold(); err != nil {
		t.Fatalf("with no lock file: %v", err)
	}
	making, err := takeLock(f.work)
	if err != nil {
		t.Fatal(err)
	}
	var trouble *Trouble
	if _, err := f.Hold(); !errors.As(err, &trouble) || !strings.Contains(trouble.Text.String(), "process") {
		t.Fatalf("while it is being made: %v", err)
	}
	making.release()
	one, err := f.Hold()
	if err != nil {
		t.Fatal(err)
	}
	two, err := f.Hold()
	if err != nil {
		t.Fatalf("a second reader: %v", err)
	}
	one()
	if _, err := takeLock(f.work); !errors.As(err, &trouble) {
		t.Fatalf("while one still reads: %v", err)
	}
	two()
	if making, err = takeLock(f.work); err != nil {
		t.Fatal(err)
	}
	making.release()
}
