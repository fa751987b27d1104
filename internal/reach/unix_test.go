//go:build unix

package reach

import (
	"errors"
	"net"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// None of these has an end, or another end: were one opened as a file is, the test
// would never come to its end.
func TestPipesSocketsAndDevicesAreRefusedAtOnce(t *testing.T) {
	dir, err := os.MkdirTemp("", "r") // short: a socket's name has 104 bytes at most
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	pipe, socket, zero, folder := filepath.Join(dir, "pipe"), filepath.Join(dir, "socket"), filepath.Join(dir, "zero"), filepath.Join(dir, "folder")
	listener, err := net.Listen("unix", socket)
	if err = errors.Join(err, syscall.Mkfifo(pipe, 0o600), os.Symlink("/dev/zero", zero), os.Mkdir(folder, 0o700)); err != nil {
		t.Fatal(err)
	}
	defer listener.Close()
	own, all := &Reach{Folders: []string{dir}}, &Reach{Anywhere: true}
	for path, kind := range map[string]string{pipe: "a pipe", socket: "a socket", zero: "a device", folder: "a folder"} {
		for how, open := range map[string]func(string) (*os.File, error){
			"a job's":        func(path string) (*os.File, error) { return own.Open(path, 100) },
			"with --outside": func(path string) (*os.File, error) { return all.Open(path, 100) },
			"named":          func(path string) (*os.File, error) { return Open(path, 100) },
			"ours":           func(path string) (*os.File, error) { return Beneath(dir, filepath.Base(path), 100) },
		} {
			f, err := open(path)
			if f != nil || err == nil {
				t.Errorf("%s, %s: it was opened", kind, how)
				continue
			}
			isLink := path == zero && (how == "a job's" || how == "ours") // judged before what it leads to
			if said := err.Error(); !isLink && !strings.Contains(said, kind) {
				t.Errorf("%s, %s: %s", kind, how, said)
			}
		}
	}
	// A pipe in the place of a folder on the way.
	if _, err := Beneath(pipe, "x", 100); err == nil {
		t.Error("a pipe passes for a folder")
	}
	if _, err := (&Reach{Folders: []string{pipe}}).Open(filepath.Join(pipe, "x"), 100); err == nil {
		t.Error("a pipe passes for a folder")
	}
}

func TestAPipePutInAFilesPlaceIsNotWaitedFor(t *testing.T) {
	dir := place(t, "log.csv=x")
	path := filepath.Join(dir, "log.csv")
	defer func() { between = func() {} }()
	swap := func() {
		between = func() {}
		if err := errors.Join(os.Remove(path), syscall.Mkfifo(path, 0o600)); err != nil {
			t.Fatal(err)
		}
	}
	for how, open := range map[string]func() (*os.File, error){
		"a job's": func() (*os.File, error) { return (&Reach{Folders: []string{dir}}).Open(path, 100) },
		"named":   func() (*os.File, error) { return Open(path, 100) },
		"ours":    func() (*os.File, error) { return Beneath(dir, "log.csv", 100) },
	} {
		if err := errors.Join(os.RemoveAll(path), os.WriteFile(path, nil, 0o600)); err != nil {
			t.Fatal(err)
		}
		skip := 1 // the folder is opened first
		if how == "named" {
			skip = 0
		}
		between = func() {
			if skip--; skip < 0 {
				swap()
			}
		}
		if _, err := open(); !errors.Is(err, ErrNotFile) {
			t.Errorf("%s: %v", how, err)
		}
	}
}
