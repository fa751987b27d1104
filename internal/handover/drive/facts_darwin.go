package drive

import (
	"io"
	"os"
	"path/filepath"
	"strings"

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

// nameOf is the name under which the system shows the drive; its serial number isn't asked for.
func nameOf(dir string) (label, serial string) {
	if rest, ok := strings.CutPrefix(filepath.Clean(dir), "/Volumes/"); ok {
		label, _, _ = strings.Cut(rest, "/")
	}
	return label, ""
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
