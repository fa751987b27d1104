//go:build unix

package ffmpeg

import (
	"errors"
	"os"
	"testing"
)

// An answer that somebody else may have written is asked for again.
func TestAForeignAnswerIsPassedOver(t *testing.T) {
	k := newKept(t)
	k.find()
	programs, err := identities(k.programs()...)
	if err != nil {
		t.Fatal(err)
	}
	if e, ok := loadEntry(k.file(), programs); !ok {
		t.Fatalf("our own answer was refused: %+v", e)
	}
	if err := os.Chmod(k.file(), 0o666); err != nil {
		t.Fatal(err)
	}
	if e, ok := loadEntry(k.file(), programs); ok {
		t.Errorf("writable by everybody: %+v was taken", e)
	}
	if os.Geteuid() != 0 {
		return // only root can give a file away
	}
	if err := errors.Join(os.Chmod(k.file(), 0o600), os.Chown(k.file(), 12345, -1)); err != nil {
		t.Fatal(err)
	}
	if e, ok := loadEntry(k.file(), programs); ok {
		t.Errorf("owned by somebody else: %+v was taken", e)
	}
	k.wantStarts(startsToAsk, "owned by somebody else")
	k.wantStarts(0, "owned by us again")
}
