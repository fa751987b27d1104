package ffmpeg

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"

	"pushcue/internal/reach"
)

var plainName = regexp.MustCompile(`^[A-Za-z0-9_][A-Za-z0-9._-]*(/[A-Za-z0-9_][A-Za-z0-9._-]*)*$`)

// workFolder makes the private folder of a run and puts files into it under names
// that mean nothing to a filter. done removes it.
func (r Run) workFolder() (dir string, done func(), err error) {
	if dir, done, err = tempFolder(); err != nil {
		return "", nil, err
	}
	if err := r.fill(dir); err != nil {
		done()
		return "", nil, err
	}
	return dir, done, nil
}

func (r Run) fill(dir string) error {
	for name, path := range r.Files {
		at, err := place(dir, name)
		if err != nil {
			return err
		}
		if err := link(path, at); err != nil {
			return err
		}
	}
	for name, text := range r.Contents {
		at, err := place(dir, name)
		if err != nil {
			return err
		}
		if err := os.WriteFile(at, text, 0o600); err != nil {
			return err
		}
	}
	return nil
}

func place(dir, name string) (string, error) {
	if !plainName.MatchString(name) {
		return "", fmt.Errorf("%q can't be the name of a file in a run's folder", name)
	}
	at := filepath.Join(dir, filepath.FromSlash(name))
	if strings.Contains(name, "/") {
		return at, os.MkdirAll(filepath.Dir(at), 0o700)
	}
	return at, nil
}

// link makes path readable as at. Windows lets few users make symbolic links, and
// hard links stay on one drive.
func link(path, at string) error {
	path, err := filepath.Abs(path)
	if err != nil {
		return err
	}
	if _, err := os.Stat(path); err != nil {
		return err
	}
	if os.Symlink(path, at) == nil || os.Link(path, at) == nil {
		return nil
	}
	return copyFile(path, at)
}

func copyFile(path, at string) error {
	from, err := reach.Open(path, reach.AnySize)
	if err != nil {
		return err
	}
	defer from.Close()
	to, err := os.OpenFile(at, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	_, err = io.Copy(to, from)
	return errors.Join(err, to.Close())
}
