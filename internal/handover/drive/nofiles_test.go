package drive

import (
	"context"
	"os"
	"strings"
	"syscall"
	"testing"

	"pushcue/internal/safefile"
)

// Room for bytes and none for another file: such a drive is no fake.
func TestADriveThatHoldsNoMoreFilesIsNoFake(t *testing.T) {
	root := handover(t, sample)
	c := load(t, root)
	create = func(_ *safefile.Folder, file string) (device, error) {
		return nil, &os.PathError{Op: "openat", Path: file, Err: syscall.ENOSPC}
	}
	t.Cleanup(func() { create, driveFacts = plain, factsOf })
	for _, full := range []bool{true, false} {
		driveFacts = func(string) (facts, error) { return facts{free: 1 << 40, noFiles: full}, nil }
		_, err := Copy(context.Background(), c, t.TempDir(), nil)
		if err == nil || strings.Contains(err.Error(), "can hold no more files") != full || strings.Contains(err.Error(), "takes no more") == full {
			t.Errorf("its table of files full: %v; %v", full, err)
		}
	}
}
