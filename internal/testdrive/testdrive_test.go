//go:build linux

package testdrive

import (
	"errors"
	"os"
	"path/filepath"
	"syscall"
	"testing"
)

func TestTheDriveKeepsItsRules(t *testing.T) {
	d := Mount(t, Rules{})
	file := filepath.Join(d.Dir, "a.bin")
	write := func(n int) error { return os.WriteFile(file, make([]byte, n), 0o644) }
	if err := write(1000); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		rules Rules
		do    func() error
		want  syscall.Errno
	}{
		"full":      {Rules{Room: 5000}, func() error { return write(9000) }, syscall.ENOSPC},
		"too long":  {Rules{Longest: 5000}, func() error { return write(9000) }, syscall.EFBIG},
		"broken":    {Rules{Breaks: 10, With: syscall.EIO}, func() error { return write(100) }, syscall.EIO},
		"read-only": {Rules{ReadOnly: true}, func() error { return write(100) }, syscall.EROFS},
		"a name":    {Rules{Names: true}, func() error { return os.Mkdir(filepath.Join(d.Dir, "a:b"), 0o755) }, syscall.EINVAL},
	} {
		d.Set(c.rules)
		if err := c.do(); !errors.Is(err, c.want) {
			t.Errorf("%s: got %v", name, err)
		}
	}
	d.Set(Rules{})
	if err := os.WriteFile(file, []byte("plain"), 0o644); err != nil {
		t.Fatal(err)
	}
	d.Set(Rules{Flips: "a.bin"})
	if text, err := os.ReadFile(file); err != nil || string(text) == "plain" {
		t.Errorf("a flipped bit: %q, %v", text, err)
	}
	d.Set(Rules{})
	if text, err := os.ReadFile(file); err != nil || string(text) != "plain" {
		t.Errorf("without: %q, %v", text, err)
	}
}
