package drive

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"golang.org/x/sys/windows"
)

func factsOf(dir string) (facts, error) {
	name, err := windows.UTF16PtrFromString(dir)
	if err != nil {
		return facts{}, err
	}
	var free uint64
	if err := windows.GetDiskFreeSpaceEx(name, &free, nil, nil); err != nil {
		return facts{}, &os.PathError{Op: "free space", Path: dir, Err: err}
	}
	f := facts{free: int64(free)}
	if strings.HasPrefix(fileSystem(dir), "FAT") {
		f.longest = fat32
	}
	return f, nil
}

// fileSystem is the volume's own word for its file system, "" when it says none.
func fileSystem(dir string) string {
	root, err := windows.UTF16PtrFromString(volume(dir) + `\`)
	if err != nil {
		return ""
	}
	kind := make([]uint16, windows.MAX_PATH+1)
	if windows.GetVolumeInformation(root, nil, 0, nil, nil, nil, &kind[0], uint32(len(kind))) != nil {
		return ""
	}
	return windows.UTF16ToString(kind)
}

// nameOf is the volume's own label and serial number.
func nameOf(dir string) (label, serial string) {
	root, err := windows.UTF16PtrFromString(volume(dir) + `\`)
	if err != nil {
		return "", ""
	}
	name, number := make([]uint16, windows.MAX_PATH+1), uint32(0)
	if windows.GetVolumeInformation(root, &name[0], uint32(len(name)), &number, nil, nil, nil, 0) != nil {
		return "", ""
	}
	return windows.UTF16ToString(name), fmt.Sprintf("%04X-%04X", number>>16, number&0xffff)
}

func volume(p string) string {
	full, err := filepath.Abs(p)
	if err != nil {
		return ""
	}
	return filepath.VolumeName(full)
}

func sameDisk(a, b string) bool { return strings.EqualFold(volume(a), volume(b)) }

// flushFolder has nothing to do: folders can't be flushed here, and each file was.
func flushFolder(string) error { return nil }

// underWay writes as it is: the device is waited for when the file is flushed.
func underWay(to device) io.Writer { return to }

func isFull(err error) bool {
	return errors.Is(err, windows.ERROR_DISK_FULL) || errors.Is(err, windows.ERROR_HANDLE_DISK_FULL)
}

func isTooLong(err error) bool { return errors.Is(err, windows.ERROR_FILE_TOO_LARGE) }

func isReadOnly(err error) bool { return errors.Is(err, windows.ERROR_WRITE_PROTECT) }

func isBadName(err error) bool {
	return errors.Is(err, windows.ERROR_INVALID_NAME) || errors.Is(err, windows.ERROR_FILENAME_EXCED_RANGE)
}
