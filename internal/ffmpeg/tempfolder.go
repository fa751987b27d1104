package ffmpeg

import (
	"os"
	"strings"
	"sync"

	"pushcue/internal/safefile"
	"pushcue/timeline/words"
)

// Folders for temporary files are named so, and hold a file that is locked for as long
// as they are in use.
const (
	tempPrefix   = "pushcue-"
	tempLockName = safefile.SystemTempLock
)

// swept remembers where the folders of killed runs were removed: once a start is enough.
var swept sync.Map

// tempFolder makes a folder of our own among the system's temporary ones; done removes
// it. The first one removes those that killed runs left. Its error is a *PlaceError.
func tempFolder() (dir *safefile.Temp, done func(), err error) {
	top := os.TempDir()
	if _, before := swept.LoadOrStore(top, true); !before {
		sweepTemp(top)
	}
	if dir, err = safefile.SystemTemp(tempPrefix); err != nil {
		return nil, nil, tempTrouble(top, err)
	}
	return dir, func() { _ = dir.Discard() }, nil
}

// sweepTemp removes the folders of killed runs in top: ours, with a lock that nobody
// holds. Whatever can't be told, or removed, stays.
func sweepTemp(top string) {
	all, err := safefile.Open(top)
	if err != nil {
		return
	}
	defer all.Close()
	entries, err := all.ReadDir(".")
	if err != nil {
		return
	}
	for _, e := range entries {
		if !e.IsDir() || !strings.HasPrefix(e.Name(), tempPrefix) {
			continue
		}
		if info, err := all.Lstat(e.Name()); err != nil || !info.IsDir() || !ownedAlone(info) {
			continue
		}
		lock, err := all.OpenFile(e.Name()+"/"+tempLockName, os.O_RDWR, 0)
		if err != nil {
			continue
		}
		if free, failed := safefile.Lock(lock, true); failed == nil && free {
			_ = safefile.Unlock(lock)
			lock.Close() // Windows removes no open file
			_ = all.RemoveAll(e.Name())
			continue
		}
		lock.Close()
	}
}

// tempTrouble says why the folder for temporary files can't be used; nil for no error.
func tempTrouble(dir string, err error) error {
	if err == nil {
		return nil
	}
	return &PlaceError{
		Text: words.Tell("the folder for temporary files, %s, can't be used: %s", dir, reason(err)),
		Hint: words.Tell("make room in it, or set TMPDIR (on Windows TMP) to a folder that you may write to"),
		Err:  err,
	}
}
