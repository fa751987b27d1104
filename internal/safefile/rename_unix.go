//go:build unix

package safefile

import (
	"errors"
	"io/fs"
	"os"

	"golang.org/x/sys/unix"
)

// renameAt renames by two opened folders, so that nothing that becomes of their paths
// leads elsewhere. It replaces what stands at the new name.
func renameAt(fromDir *os.Root, from string, toDir *os.Root, to string) error {
	return withHandles(fromDir, toDir, func(a, b int) error { return unix.Renameat(a, from, b, to) })
}

// withHandles hands the descriptors of two opened folders to do.
func withHandles(fromDir, toDir *os.Root, do func(from, to int) error) error {
	a, err := fromDir.Open(".")
	if err != nil {
		return err
	}
	defer a.Close()
	b, err := toDir.Open(".")
	if err != nil {
		return err
	}
	defer b.Close()
	return do(int(a.Fd()), int(b.Fd()))
}

// linkNew is the older way to a new name that replaces nothing: a second link, then
// the first one's end. Where there are no links, and for folders, it looks before it
// renames.
func linkNew(dir *os.Root, from, to string) error {
	err := dir.Link(from, to)
	if err == nil {
		return dir.Remove(from)
	}
	if errors.Is(err, fs.ErrExist) {
		return err
	}
	if _, err := dir.Lstat(to); err == nil {
		return fs.ErrExist
	}
	return renameAt(dir, from, dir, to)
}

// heldOpen tells whether the new name is in use and may soon be free: never on Unix,
// where an open file can be replaced.
func heldOpen(error) bool { return false }

// syncDir makes a rename last. Drives that can't are left as they are.
func syncDir(dir *os.Root) error {
	d, err := dir.Open(".")
	if errors.Is(err, fs.ErrPermission) {
		return nil // a folder that may be written but not listed
	}
	if err != nil {
		return err
	}
	err = fsync(d)
	if closed := d.Close(); err == nil || unsupported(err) {
		err = closed
	}
	return err
}
