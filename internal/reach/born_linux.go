package reach

import (
	"os"
	"time"

	"golang.org/x/sys/unix"
)

// born returns when the file was created (statx(2)), the zero time where its file system
// doesn't keep that.
func born(f *os.File) time.Time {
	var all unix.Statx_t
	err := unix.Statx(int(f.Fd()), "", unix.AT_EMPTY_PATH, unix.STATX_BTIME, &all)
	if err != nil || all.Mask&unix.STATX_BTIME == 0 {
		return time.Time{}
	}
	return time.Unix(all.Btime.Sec, int64(all.Btime.Nsec))
}
