package safefile

import "golang.org/x/sys/unix"

// renameNew renames unless the new name is taken.
func renameNew(from, to string) error {
	err := unix.Renameat2(unix.AT_FDCWD, from, unix.AT_FDCWD, to, unix.RENAME_NOREPLACE)
	if err != nil && unsupported(err) {
		return linkNew(from, to)
	}
	return err
}
