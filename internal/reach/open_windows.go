package reach

import (
	"os"

	"golang.org/x/sys/windows"
)

const (
	nonblock = 0 // no pipe has a name in a folder

	// Resolving a link that leads to another computer would send it our user's name.
	followsAbsolute = false

	folderItself = 0 // a folder isn't handed over here
)

var reOpenFile = windows.NewLazySystemDLL("kernel32.dll").NewProc("ReOpenFile")

// pinned opens f's file once more, by its handle, shared for reading only: while that is
// open nobody else writes to the file, renames it or removes it (Microsoft, ReOpenFile and
// CreateFileW, dwShareMode). It closes f.
func pinned(f *os.File) (*os.File, error) {
	defer f.Close()
	handle, _, err := reOpenFile.Call(f.Fd(), windows.GENERIC_READ, windows.FILE_SHARE_READ, 0)
	if windows.Handle(handle) == windows.InvalidHandle {
		return nil, &os.PathError{Op: "open", Path: f.Name(), Err: err}
	}
	return os.NewFile(handle, f.Name()), nil
}
