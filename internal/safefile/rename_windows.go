package safefile

import (
	"errors"
	"fmt"
	"io/fs"

	"golang.org/x/sys/windows"
)

// renameNew renames unless the new name is taken: MoveFileEx does so when it isn't
// told to replace.
func renameNew(from, to string) error {
	a, err := windows.UTF16PtrFromString(from)
	if err != nil {
		return err
	}
	b, err := windows.UTF16PtrFromString(to)
	if err != nil {
		return err
	}
	err = windows.MoveFileEx(a, b, windows.MOVEFILE_WRITE_THROUGH)
	if errors.Is(err, windows.ERROR_ALREADY_EXISTS) || errors.Is(err, windows.ERROR_FILE_EXISTS) {
		return fmt.Errorf("%w", fs.ErrExist)
	}
	return err
}

func heldOpen(err error) bool {
	return errors.Is(err, windows.ERROR_ACCESS_DENIED) || errors.Is(err, windows.ERROR_SHARING_VIOLATION)
}

// syncDir does nothing: Windows has no such thing.
func syncDir(string) error { return nil }
