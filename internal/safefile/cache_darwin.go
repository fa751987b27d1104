package safefile

import (
	"os"

	"golang.org/x/sys/unix"
)

// DropCache asks that reading the file come from the device from now on and not from
// the system's memory; what was written must be synced first. False where that can't
// be had.
func DropCache(f *os.File) bool {
	_, err := unix.FcntlInt(f.Fd(), unix.F_NOCACHE, 1)
	return err == nil
}
