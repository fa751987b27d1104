package safefile

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
)

// SystemTempLock is a file in each folder of SystemTemp. It is locked for as long as the
// folder is in use, so that a later start knows the folders of killed runs.
const SystemTempLock = ".pushcue-lock"

// SystemTemp creates a folder in the system's own for temporary files.
func SystemTemp(prefix string) (*Temp, error) {
	for {
		dir, err := Open(os.TempDir())
		if err != nil {
			return nil, fmt.Errorf("the system's folder for temporary files: %w", err)
		}
		t, err := dir.aloneTemp(prefix)
		if err != nil {
			return nil, err
		}
		held, err := t.hold()
		switch {
		case err != nil:
			return nil, errors.Join(err, t.Discard())
		case held:
			return t, nil
		}
		_ = t.Discard() // another start took it for a killed run's, before it was locked
	}
}

// hold marks a new folder as in use. held is whether nobody removed it meanwhile.
func (t *Temp) hold() (held bool, err error) {
	t.lock, err = t.OpenFile(SystemTempLock, os.O_CREATE|os.O_EXCL|os.O_RDWR, 0o600)
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	taken, failed := Lock(t.lock, true)
	ours, err := t.lock.Stat()
	if err != nil {
		return false, err
	}
	there, err := t.Lstat(SystemTempLock)
	return (taken || failed != nil) && err == nil && os.SameFile(ours, there), nil
}
