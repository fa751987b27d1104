package safefile

import (
	"os"

	"golang.org/x/sys/unix"
)

// DropCache asks that reading the file come from the device from now on and not from
// the system's memory; what was written must be synced first. False where that can't
// be had.
func DropCache(f *os.File) bool {
	return unix.Fadvise(int(f.Fd()), 0, 0, unix.FADV_DONTNEED) == nil
}
