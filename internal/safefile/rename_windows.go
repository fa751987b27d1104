package safefile

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"runtime"
	"unsafe"

	"golang.org/x/sys/windows"
)

// renameAt renames by the handles of two opened folders, so that nothing that becomes
// of their paths leads elsewhere. It replaces what stands at the new name.
func renameAt(fromDir *os.Root, from string, toDir *os.Root, to string) error {
	return renameByHandle(fromDir, from, toDir, to, true)
}

// renameNew renames in one folder unless the new name is taken.
func renameNew(dir *os.Root, from, to string) error {
	err := renameByHandle(dir, from, dir, to, false)
	if errors.Is(err, windows.ERROR_ALREADY_EXISTS) || errors.Is(err, windows.ERROR_FILE_EXISTS) {
		return fmt.Errorf("%w", fs.ErrExist)
	}
	return err
}

// renameInformation is FILE_RENAME_INFORMATION (Microsoft, Windows Driver Kit,
// ntifs.h), with room for the longest name of a file.
type renameInformation struct {
	replace    uint32 // a BOOLEAN and its padding
	root       windows.Handle
	nameLength uint32 // in bytes
	name       [256]uint16
}

// renameByHandle opens the file without following a link and with writes passed
// through to the disk, as MoveFileEx does when it is asked to.
func renameByHandle(fromDir *os.Root, from string, toDir *os.Root, to string, replace bool) error {
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
	name, err := windows.NewNTUnicodeString(from)
	if err != nil {
		return err
	}
	attributes := windows.OBJECT_ATTRIBUTES{RootDirectory: windows.Handle(a.Fd()), ObjectName: name}
	attributes.Length = uint32(unsafe.Sizeof(attributes))
	var file windows.Handle
	var status windows.IO_STATUS_BLOCK
	err = windows.NtCreateFile(&file, windows.SYNCHRONIZE|windows.DELETE, &attributes, &status, nil, 0,
		windows.FILE_SHARE_READ|windows.FILE_SHARE_WRITE|windows.FILE_SHARE_DELETE, windows.FILE_OPEN,
		windows.FILE_OPEN_REPARSE_POINT|windows.FILE_OPEN_FOR_BACKUP_INTENT|windows.FILE_SYNCHRONOUS_IO_NONALERT|windows.FILE_WRITE_THROUGH, 0, 0)
	if err != nil {
		return plainError(err)
	}
	defer windows.CloseHandle(file)

	info := renameInformation{root: windows.Handle(b.Fd())}
	if replace {
		info.replace = 1
	}
	text, err := windows.UTF16FromString(to)
	if err != nil {
		return err
	}
	if len(text) > len(info.name) {
		return windows.ERROR_FILENAME_EXCED_RANGE
	}
	copy(info.name[:], text)
	info.nameLength = uint32(2 * (len(text) - 1))
	err = windows.NtSetInformationFile(file, &status, (*byte)(unsafe.Pointer(&info)), uint32(unsafe.Sizeof(info)), windows.FileRenameInformation)
	runtime.KeepAlive(b)
	return plainError(err)
}

// plainError turns a status of the system's core into the error that programs know.
func plainError(err error) error {
	var status windows.NTStatus
	if errors.As(err, &status) {
		return status.Errno()
	}
	return err
}

func heldOpen(err error) bool {
	return errors.Is(err, windows.ERROR_ACCESS_DENIED) || errors.Is(err, windows.ERROR_SHARING_VIOLATION)
}

// syncDir does nothing: Windows has no such thing.
func syncDir(*os.Root) error { return nil }
