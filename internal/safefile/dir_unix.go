//go:build unix

package safefile

import (
	"errors"
	"io/fs"
	"os"
)

// linkNew is the older way to a new name that replaces nothing: a second link, then
// the first one's end. Where there are no links, it looks before it renames.
func linkNew(from, to string) error {
	err := os.Link(from, to)
	if err == nil {
		return os.Remove(from)
	}
	if errors.Is(err, fs.ErrExist) {
		return err
	}
	if _, err := os.Lstat(to); err == nil {
		return fs.ErrExist
	}
	return os.Rename(from, to)
}

// heldOpen tells whether the new name is in use and may soon be free: never on Unix,
// where an open file can be replaced.
func heldOpen(error) bool { return false }

// syncDir makes a rename last. Drives that can't are left as they are.
func syncDir(dir string) error {
	d, err := os.Open(dir)
	if errors.Is(err, fs.ErrPermission) {
		return nil // a folder that may be written but not listed
	}
	if err != nil {
		return err
	}
	err = d.Sync()
	if closed := d.Close(); err == nil || unsupported(err) {
		err = closed
	}
	return err
}
