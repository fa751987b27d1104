package drive

import (
	"os"
	"path/filepath"
	"testing"

	"golang.org/x/sys/unix"
)

func TestADriveIsKnownByItsLabel(t *testing.T) {
	dir := t.TempDir()
	for name, device := range map[string]string{"OTHER": "/dev/zero", `MY\x20STICK`: "/dev/null", "LOST": "/dev/nothing"} {
		if err := os.Symlink(device, filepath.Join(dir, name)); err != nil {
			t.Fatal(err)
		}
	}
	var s unix.Stat_t
	if err := unix.Stat("/dev/null", &s); err != nil {
		t.Fatal(err)
	}
	if got := linkTo(dir, s.Rdev); got != "MY STICK" {
		t.Errorf("%q", got)
	}
	if got := linkTo(dir, 1<<40) + linkTo(filepath.Join(dir, "gone"), s.Rdev); got != "" {
		t.Errorf("%q for a device without a name", got)
	}
}
