package drive

import (
	"io"
	"os"

	"golang.org/x/sys/unix"
)

func factsOf(dir string) (facts, error) {
	var s unix.Statfs_t
	if err := unix.Statfs(dir, &s); err != nil {
		return facts{}, &os.PathError{Op: "statfs", Path: dir, Err: err}
	}
	f := facts{free: room(&s), noFiles: noFiles(&s)}
	if unix.ByteSliceToString(s.Fstypename[:]) == "msdos" {
		f.longest = fat32
	}
	return f, nil
}

// underWay writes as it is: the device is waited for when the file is flushed.
func underWay(to device) io.Writer { return to }

func flushFolder(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer f.Close()
	return f.Sync()
}
