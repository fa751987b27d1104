package safefile

import "golang.org/x/sys/unix"

// renameNew renames unless the new name is taken.
func renameNew(from, to string) error {
	err := unix.RenamexNp(from, to, unix.RENAME_EXCL)
	if err != nil && unsupported(err) {
		return linkNew(from, to)
	}
	return err
}
