package ffmpeg

import (
	"fmt"
	"os"

	"golang.org/x/sys/windows"
)

// fileNumber identifies a file among all others of the computer.
func fileNumber(path string, _ os.FileInfo) string {
	f, err := os.Open(path)
	if err != nil {
		return "?"
	}
	defer f.Close()
	var d windows.ByHandleFileInformation
	if err := windows.GetFileInformationByHandle(windows.Handle(f.Fd()), &d); err != nil {
		return "?"
	}
	return fmt.Sprintf("%d:%d:%d", d.VolumeSerialNumber, d.FileIndexHigh, d.FileIndexLow)
}

// ownedAlone relies on the user's profile, which Windows keeps other users out of.
func ownedAlone(os.FileInfo) bool { return true }

// loadingFailed reports whether an exit code is STATUS_DLL_NOT_FOUND or
// STATUS_ENTRYPOINT_NOT_FOUND ([MS-ERREF] 2.3.1, NTSTATUS values).
func loadingFailed(code int) bool {
	return uint32(code) == 0xC0000135 || uint32(code) == 0xC0000139
}
