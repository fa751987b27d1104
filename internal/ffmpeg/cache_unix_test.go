//go:build unix

package ffmpeg

import (
	"os"
	"testing"
)

// An answer that somebody else may have written is asked for again.
func TestAForeignAnswerIsPassedOver(t *testing.T) {
	k := newKept(t)
	k.find()
	if err := os.Chmod(k.file(), 0o666); err != nil {
		t.Fatal(err)
	}
	k.wantStarts(startsToAsk, "writable by everybody")
	k.wantStarts(0, "written anew")
	if os.Geteuid() != 0 {
		return // only root can give a file away
	}
	if err := os.Chown(k.file(), 12345, -1); err != nil {
		t.Fatal(err)
	}
	k.wantStarts(startsToAsk, "owned by somebody else")
	k.wantStarts(0, "owned by us again")
}
