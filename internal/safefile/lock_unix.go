//go:build unix

package safefile

import (
	"errors"
	"os"

	"golang.org/x/sys/unix"
)

// Lock holds an open file against other programs, without waiting: alone, or
// together with all who don't ask for it alone. taken is false while somebody else
// holds it. The system gives it back when f is closed or the process ends, however
// it ends. An error means that the disk knows no locks.
func Lock(f *os.File, alone bool) (taken bool, err error) {
	how := unix.LOCK_SH
	if alone {
		how = unix.LOCK_EX
	}
	err = unix.Flock(int(f.Fd()), how|unix.LOCK_NB)
	if errors.Is(err, unix.EWOULDBLOCK) {
		return false, nil
	}
	return err == nil, err
}

// Unlock gives the lock of f back, whoever else has f open. Closing f isn't enough: a process
// that is being started holds a copy of every open file until its program begins.
func Unlock(f *os.File) error { return unix.Flock(int(f.Fd()), unix.LOCK_UN) }
