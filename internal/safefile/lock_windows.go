package safefile

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// Lock holds an open file against other programs, without waiting: alone, or
// together with all who don't ask for it alone. taken is false while somebody else
// holds it. The system gives it back when f is closed or the process ends, however
// it ends. An error means that the disk knows no locks. The byte locked lies far
// behind any text, so that others can still read what the file says.
func Lock(f *os.File, alone bool) (taken bool, err error) {
	how := uint32(windows.LOCKFILE_FAIL_IMMEDIATELY)
	if alone {
		how |= windows.LOCKFILE_EXCLUSIVE_LOCK
	}
	err = windows.LockFileEx(windows.Handle(f.Fd()), how, 0, 1, 0, &windows.Overlapped{Offset: 1 << 30})
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) {
		return false, nil
	}
	return err == nil, err
}

// Unlock gives the lock of f back.
func Unlock(f *os.File) error {
	return windows.UnlockFileEx(windows.Handle(f.Fd()), 0, 1, 0, &windows.Overlapped{Offset: 1 << 30})
}
