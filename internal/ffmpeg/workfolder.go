package ffmpeg

import (
	"errors"
	"fmt"
	"os"
	"path"
	"regexp"

	"pushcue/internal/safefile"
)

var plainName = regexp.MustCompile(`^[A-Za-z0-9_][A-Za-z0-9._-]*(/[A-Za-z0-9_][A-Za-z0-9._-]*)*$`)

// workFolder makes the private folder of a run and puts files into it under names
// that mean nothing to a filter. done removes it.
func (r Run) workFolder() (dir *safefile.Temp, done func(), err error) {
	if dir, done, err = tempFolder(); err != nil {
		return nil, nil, err
	}
	if err := r.fill(dir.Folder); err != nil {
		done()
		return nil, nil, err
	}
	return dir, done, nil
}

func (r Run) fill(dir *safefile.Folder) error {
	for name, text := range r.Contents {
		if err := place(dir, name); err != nil {
			return err
		}
		file, err := dir.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
		if err != nil {
			return err
		}
		_, err = file.Write(text)
		if err = errors.Join(err, file.Close()); err != nil {
			return err
		}
	}
	return nil
}

// place makes the folder for a name, which must be plain.
func place(dir *safefile.Folder, name string) error {
	if !plainName.MatchString(name) {
		return fmt.Errorf("%q can't be the name of a file in a run's folder", name)
	}
	if path.Dir(name) == "." {
		return nil
	}
	made, err := dir.MakeFolder(path.Dir(name))
	if err != nil {
		return err
	}
	return made.Close()
}
