package review

import (
	"slices"
	"testing"
)

// The lines have the form of proc(5), /proc/pid/mountinfo.
func DrivesOfTestsAreReadOffTheSystemsOwnList(t *testing.T) {
	list := `22 1 8:1 / / rw,relatime - ext4 /dev/sda1 rw
23 22 0:21 / /proc rw - proc proc rw
40 22 8:17 / /media/ana/THUMB\040DRIVE rw,nosuid - vfat /dev/sdb1 rw
41 22 8:33 / /mnt/archive rw shared:7 - ext4 /dev/sdc1 rw
42 22 8:49 / /run/media/ana/a\134b rw - exfat /dev/sdd1 rw
43 22 8:49 / /mediathek rw - exfat /dev/sde1 rw
torn
`
	want := []string{"/media/ana/THUMB DRIVE", "/mnt/archive", `/run/media/ana/a\b`}
	if got := pluggedIn(list); !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}
