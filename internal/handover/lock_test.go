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
	if !errors.As(err, &trouble) || !strings.Contains(trouble.Text, "process") {
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
