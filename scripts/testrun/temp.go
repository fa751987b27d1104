package main

import (
	"errors"
	"fmt"
	"hash/fnv"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"pushcue/internal/safefile"
)

// All runs in one clone share a temporary folder, named prefix and a hash of the clone's
// path. It has to have the same path in each run: tests read it (GOTMPDIR, by way of
// testing.T.TempDir), and go uses a result from its cache only where what the tests read is the
// same. Names are short, since the path of a socket can't be longer than 100 bytes or so.
const (
	prefix   = "pushcue-test-"
	lockName = "lock" // each run holds it together with the others; whoever gets it alone may remove the folder
)

// passable lets tests run programs as another user in folders that they open to all. Such a program may also look for files in the folders above.
const passable = 0o755

// A tempFolder is where a run keeps all that is temporary.
type tempFolder struct {
	shared string // by all runs in this clone; go's own temporary files
	own    string
	lock   *os.File
}

// newTempFolder makes a temporary folder for a run in the clone at root. First it removes
// those that killed runs left, of any clone.
func newTempFolder(root string) (*tempFolder, error) {
	temp := os.TempDir()
	removeAbandoned(temp)
	hash := fnv.New32a()
	hash.Write([]byte(root))
	shared := filepath.Join(temp, fmt.Sprintf("%s%08x", prefix, hash.Sum32()))
	var lock *os.File
	for lock == nil {
		var err error
		if lock, err = hold(shared); err != nil {
			return nil, err
		}
		if lock == nil { // another run is removing the folder
			time.Sleep(10 * time.Millisecond)
		}
	}
	own, err := os.MkdirTemp(shared, "r")
	if err == nil {
		err = os.Chmod(own, passable)
	}
	if err != nil {
		return nil, errors.Join(err, lock.Close())
	}
	return &tempFolder{shared, own, lock}, nil
}

// hold makes the shared folder where there is none, and holds its lock together with other runs.
// It returns nil where another run is just removing the folder.
func hold(shared string) (*os.File, error) {
	if err := os.MkdirAll(shared, passable); err != nil {
		return nil, err
	}
	lock, err := os.OpenFile(filepath.Join(shared, lockName), os.O_RDWR|os.O_CREATE, 0o600)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	taken, err := safefile.Lock(lock, false)
	if err != nil {
		return nil, errors.Join(err, lock.Close())
	}
	held, err := lock.Stat()
	if err != nil {
		return nil, errors.Join(err, lock.Close())
	}
	if there, err := os.Stat(lock.Name()); !taken || err != nil || !os.SameFile(held, there) {
		return nil, lock.Close()
	}
	return lock, nil
}

// removeAbandoned removes folders that no run holds. What can't be removed stays: it may be
// another user's.
func removeAbandoned(temp string) {
	folders, _ := filepath.Glob(filepath.Join(temp, prefix+"*"))
	for _, folder := range folders {
		lock, err := os.OpenFile(filepath.Join(folder, lockName), os.O_RDWR, 0)
		if err != nil {
			continue
		}
		if alone, err := safefile.Lock(lock, true); err == nil && alone {
			os.RemoveAll(folder)
		}
		_ = safefile.Unlock(lock)
		lock.Close()
	}
}

// remove removes the run's folder, and the shared one after the last run.
func (t *tempFolder) remove() error {
	err := os.RemoveAll(t.own)
	if alone, lockErr := safefile.Lock(t.lock, true); lockErr == nil && alone {
		err = errors.Join(err, os.RemoveAll(t.shared))
	}
	return errors.Join(err, safefile.Unlock(t.lock), t.lock.Close())
}
