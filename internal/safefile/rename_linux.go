package safefile

import (
	"os"

	"golang.org/x/sys/unix"
)

// renameNew renames in one folder unless the new name is taken.
func renameNew(dir *os.Root, from, to string) error {
	err := withHandles(dir, dir, func(a, b int) error { return unix.Renameat2(a, from, b, to, unix.RENAME_NOREPLACE) })
	if err != nil && unsupported(err) {
		return linkNew(dir, from, to)
	}
	return err
}
