package main

import (
	"os"

	"golang.org/x/sys/unix"
)

// forget has the system read a file from its disk the next time.
func forget(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	return unix.Fadvise(int(f.Fd()), 0, 0, unix.FADV_DONTNEED)
}
