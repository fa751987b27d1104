package shelf

import (
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"pushcue/internal/safefile"
	"pushcue/internal/trouble"
	"pushcue/timeline/words"
)

// LockName stands in the work folder for as long as that folder does.
const LockName = "lock"

// A Held keeps a second run away from the same work folder.
type Held struct{ f *os.File }

// Lock locks the work folder, or says who holds it. The lock is the system's
// own, so that one left behind by a run that died holds nobody up.
func Lock(work *safefile.Folder) (*Held, error) {
	return LockNamed(work, LockName, words.Sentence{}, words.Sentence{})
}

// LockNamed takes the lock of that name; what and hint tell of who holds it, empty that
// it is at work.
func LockNamed(work *safefile.Folder, name string, what, hint words.Sentence) (*Held, error) {
	path := work.At(name)
	f, err := work.OpenFile(name, os.O_RDWR|os.O_CREATE, 0o644)
	if err != nil {
		return nil, trouble.Writing(path, err)
	}
	taken, err := safefile.Lock(f, true)
	if err != nil { // a disk that knows no locks: go by the number that was written
		taken = !HolderAlive(f)
	}
	if !taken {
		defer f.Close()
		if !what.Empty() {
			return nil, &trouble.Trouble{Text: words.Plain("%s%s", what, holder(f)), Hint: hint, Held: true}
		}
		return nil, AtWork(work.Path(), f)
	}
	if err := WriteHolder(f); err != nil {
		f.Close() // and with it the lock
		return nil, trouble.Writing(path, err)
	}
	return &Held{f}, nil
}

// WriteHolder writes this process's number into a lock file; tests let it fail.
var WriteHolder = func(f *os.File) error {
	if err := f.Truncate(0); err != nil {
		return err
	}
	_, err := f.WriteAt([]byte(strconv.Itoa(os.Getpid())+"\n"), 0)
	return err
}

func AtWork(work string, f *os.File) error {
	return &trouble.Trouble{
		Text: words.Tell("another pushcue is at work on %s%s", filepath.Dir(work), holder(f)),
		Hint: words.Tell("wait until it is done, or stop it first"),
	}
}

// Release gives the lock back. The file stays: removing it could take it away
// from a run that has just opened it.
func (l *Held) Release() {
	_ = l.f.Truncate(0)
	_ = safefile.Unlock(l.f)
	_ = l.f.Close()
}

func holderPID(f *os.File) int {
	text, _ := io.ReadAll(io.NewSectionReader(f, 0, 32))
	pid, _ := strconv.Atoi(strings.TrimSpace(string(text)))
	return pid
}

func HolderAlive(f *os.File) bool {
	pid := holderPID(f)
	return pid > 0 && pid != os.Getpid() && trouble.IsAlive(pid)
}

func holder(f *os.File) words.Sentence {
	if pid := holderPID(f); pid > 0 {
		return words.Tell(" (process %d)", pid)
	}
	return words.Sentence{}
}
