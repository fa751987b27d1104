package drive

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strconv"

	"golang.org/x/sys/unix"
)

func factsOf(dir string) (facts, error) {
	var s unix.Statfs_t
	if err := unix.Statfs(dir, &s); err != nil {
		return facts{}, &os.PathError{Op: "statfs", Path: dir, Err: err}
	}
	f := facts{free: room(&s), noFiles: noFiles(&s)}
	if s.Type == unix.MSDOS_SUPER_MAGIC {
		f.longest = fat32
	}
	return f, nil
}

// nameOf is what udev calls the file system that a folder lies on, by its links below
// /dev/disk.
func nameOf(dir string) (label, serial string) {
	var s unix.Stat_t
	if unix.Stat(dir, &s) != nil {
		return "", ""
	}
	return linkTo("/dev/disk/by-label", s.Dev), linkTo("/dev/disk/by-uuid", s.Dev)
}

// linkTo is the name of the link in dir that leads to a device, with the characters that udev
// spells as \x20 put back.
func linkTo(dir string, device uint64) string {
	links, err := os.ReadDir(dir)
	if err != nil {
		return ""
	}
	for _, l := range links {
		var s unix.Stat_t
		if unix.Stat(filepath.Join(dir, l.Name()), &s) == nil && s.Rdev == device {
			return spelled.ReplaceAllStringFunc(l.Name(), func(code string) string {
				b, _ := strconv.ParseUint(code[2:], 16, 8)
				return string([]byte{byte(b)})
			})
		}
	}
	return ""
}

var spelled = regexp.MustCompile(`\\x[0-9a-f]{2}`)

// underWay has what is written leave for the device while more is being read, so
// that the progress told is the device's own and its errors show at once.
func underWay(to device) io.Writer {
	f, ok := to.(*os.File)
	if !ok {
		return to
	}
	return &leaving{File: f}
}

type leaving struct {
	*os.File
	written, left int64
}

func (l *leaving) Write(p []byte) (int, error) {
	n, err := l.File.Write(p)
	l.written += int64(n)
	if err != nil || l.written-l.left < window {
		return n, err
	}
	fd := int(l.Fd())
	begin := unix.SyncFileRange(fd, l.left, l.written-l.left, unix.SYNC_FILE_RANGE_WRITE)
	before := max(0, l.left-window)
	waited := unix.SyncFileRange(fd, before, l.left-before, unix.SYNC_FILE_RANGE_WAIT_BEFORE|unix.SYNC_FILE_RANGE_WRITE|unix.SYNC_FILE_RANGE_WAIT_AFTER)
	l.left = l.written
	for _, err := range []error{begin, waited} {
		if isGone(err) || isFull(err) { // else the file system doesn't know the call
			return n, &os.PathError{Op: "write", Path: l.Name(), Err: err}
		}
	}
	return n, nil
}

func flushFolder(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer f.Close()
	return unix.Syncfs(int(f.Fd()))
}

func isGone(err error) bool {
	return errors.Is(err, unix.EIO) || errors.Is(err, unix.ENODEV) || errors.Is(err, unix.ENXIO) || errors.Is(err, unix.ENOTCONN)
}
