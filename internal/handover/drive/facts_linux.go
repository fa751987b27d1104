package drive

import (
	"os"

	"golang.org/x/sys/unix"
)

func factsOf(dir string) (facts, error) {
	var s unix.Statfs_t
	if err := unix.Statfs(dir, &s); err != nil {
		return facts{}, &os.PathError{Op: "statfs", Path: dir, Err: err}
	}
	f := facts{free: int64(s.Bavail) * s.Bsize}
	if s.Type == unix.MSDOS_SUPER_MAGIC {
		f.longest = fat32
	}
	return f, nil
}

// dropCache asks the kernel to forget the file's pages, which it can once they
// are on the device.
func dropCache(f *os.File) bool {
	return unix.Fadvise(int(f.Fd()), 0, 0, unix.FADV_DONTNEED) == nil
}

func flushFolder(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer f.Close()
	return unix.Syncfs(int(f.Fd()))
}
