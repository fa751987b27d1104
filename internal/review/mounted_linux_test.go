package review

import (
	"slices"
	"testing"
)

// The lines have the form of proc(5), /proc/pid/mountinfo.
const mountinfo = `22 1 8:1 / / rw,relatime - ext4 /dev/sda1 rw
23 22 0:21 / /proc rw - proc proc rw
24 22 8:2 / /home rw - ext4 /dev/sda2 rw
25 22 8:3 / /boot/efi rw - vfat /dev/sda3 rw
26 22 0:30 / /run/user/1000/gvfs rw - fuse.gvfsd-fuse gvfsd-fuse rw
40 22 8:17 / /media/ana/THUMB\040DRIVE rw,nosuid - vfat /dev/sdb1 rw
41 22 8:33 / /mnt/archive rw shared:7 - ext4 /dev/sdc1 rw
42 22 8:49 / /run/media/ana/a\134b rw - exfat /dev/sdd1 rw
43 22 8:49 / /mediathek rw shared:9 master:2 - exfat /dev/sde1 rw
44 22 0:50 / /srv/jobs rw - nfs4 server:/jobs rw
45 22 0:51 / /office rw - cifs //server/office rw
46 22 8:65 / /var/lib/data rw - ext4 /dev/sdf1 rw
47 22 0:52 / /data/overlay rw - overlay overlay rw
49 22 8:49 / /mediathek rw - exfat /dev/sde1 rw
torn
50 22 0:1 / /torn
`

func TestDrivesAreReadOffTheSystemsOwnList(t *testing.T) {
	want := []string{"/media/ana/THUMB DRIVE", "/mnt/archive", `/run/media/ana/a\b`}
	if got := pluggedIn(mountinfo); !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}

// Built-in disks and network shares are shelves too; those with the system, other people's
// homes and what is no disk aren't.
func TestShelvesHoldWorkAndNotTheSystem(t *testing.T) {
	want := []string{"/media/ana/THUMB DRIVE", "/mnt/archive", `/run/media/ana/a\b`, "/mediathek", "/srv/jobs", "/office"}
	if got := shelvesIn(mountinfo); !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	if got := shelvesIn(""); len(got) > 0 {
		t.Errorf("without a list: %q", got)
	}
}
