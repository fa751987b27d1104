package handover

import (
	"errors"
	"os"
	"strings"
	"testing"
)

func TestASecondRunIsToldWhoIsAtWork(t *testing.T) {
	work := openedFolder(t, t.TempDir())
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
	work := openedFolder(t, t.TempDir())
	if err := os.WriteFile(work.At("lock"), []byte("999999999\n"), 0o644); err != nil {
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
	work := openedFolder(t, f.work)
	if _, err := f.Hold(); err != nil {
		t.Fatalf("with no lock file: %v", err)
	}
	making, err := takeLock(work)
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
	if _, err := takeLock(work); !errors.As(err, &trouble) {
		t.Fatalf("while one still reads: %v", err)
	}
	two()
	if making, err = takeLock(work); err != nil {
		t.Fatal(err)
	}
	making.release()
}
