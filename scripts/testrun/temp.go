package main

import (
	"errors"
	"os"
	"path/filepath"

	"pushcue/internal/safefile"
)

// Run folders are called prefix and some digits; the names are short since sockets with a
// path of over 100 bytes can't be had. While a run makes its folder, it is called making.
const (
	prefix = "pushcue-test-"
	making = "pushcue-new-"
	locked = "lock"
)

// passable lets tests run programs as another user in folders that they open to all.
const passable = 0o711

// privateFolder makes a temporary folder for a run, which is locked for as long as the run
// lives. It removes the folders of runs that were killed.
func privateFolder() (folder string, unlock func(), err error) {
	temp := os.TempDir()
	removeAbandoned(temp)
	made, err := os.MkdirTemp(temp, making)
	if err != nil {
		return "", nil, err
	}
	lock, err := os.Create(filepath.Join(made, locked))
	if err != nil {
		return "", nil, errors.Join(err, os.RemoveAll(made))
	}
	// The folder gets its own name once it is locked, so that another run never sees it unlocked.
	taken, err := safefile.Lock(lock, true)
	if err == nil && !taken {
		err = errors.New("somebody else locked " + lock.Name())
	}
	if err == nil {
		err = os.Chmod(made, passable)
	}
	if err == nil {
		folder = filepath.Join(temp, prefix+filepath.Base(made)[len(making):])
		err = os.Rename(made, folder)
	}
	if err != nil {
		return "", nil, errors.Join(err, lock.Close(), os.RemoveAll(made))
	}
	return folder, func() { _ = safefile.Unlock(lock); lock.Close() }, nil
}

// removeAbandoned removes run folders that no run holds. What can't be removed stays: it
// may be another user's.
func removeAbandoned(temp string) {
	folders, _ := filepath.Glob(filepath.Join(temp, prefix+"*"))
	for _, folder := range folders {
		lock, err := os.OpenFile(filepath.Join(folder, locked), os.O_RDWR, 0)
		if err != nil {
			continue
		}
		if taken, err := safefile.Lock(lock, true); err == nil && taken {
			os.RemoveAll(folder)
			_ = safefile.Unlock(lock)
		}
		lock.Close()
	}
}

// close removes the run's folder.
func (r *run) close() error {
	err := os.RemoveAll(r.folder)
	r.unlock()
	return err
}
