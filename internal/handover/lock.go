package handover

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"pushcue/internal/safefile"
	"pushcue/timeline/words"
)

// lockName stands in the work folder for as long as that folder does.
const lockName = "lock"

// A lock keeps a second run away from the same work folder.
type lock struct{ f *os.File }

// takeLock locks the work folder, or says who holds it. The lock is the system's
// own, so that one left behind by a run that died holds nobody up.
func takeLock(work *safefile.Folder) (*lock, error) {
	return takeNamed(work, lockName, words.Sentence{}, words.Sentence{})
}

// takeNamed takes the lock of that name; what and hint tell of who holds it, empty that
// it is at work.
func takeNamed(work *safefile.Folder, name string, what, hint words.Sentence) (*lock, error) {
	path := work.At(name)
	f, err := work.OpenFile(name, os.O_RDWR|os.O_CREATE, 0o644)
	if err != nil {
		return nil, writing(path, err)
	}
	taken, err := safefile.Lock(f, true)
	if err != nil { // a disk that knows no locks: go by the number that was written
		taken = !holderAlive(f)
	}
	if !taken {
		defer f.Close()
		if !what.Empty() {
			return nil, &Trouble{Text: words.Plain("%s%s", what, holder(f)), Hint: hint, held: true}
		}
		return nil, atWork(work.Path(), f)
	}
	if err := writeHolder(f); err != nil {
		f.Close() // and with it the lock
		return nil, writing(path, err)
	}
	return &lock{f}, nil
}

// writeHolder writes this process's number into a lock file; tests let it fail.
var writeHolder = func(f *os.File) error {
	if err := f.Truncate(0); err != nil {
		return err
	}
	_, err := f.WriteAt([]byte(strconv.Itoa(os.Getpid())+"\n"), 0)
	return err
}

func atWork(work string, f *os.File) error {
	return &Trouble{
		Text: words.Tell("another pushcue is at work on %s%s", filepath.Dir(work), holder(f)),
		Hint: words.Tell("wait until it is done, or stop it first"),
	}
}

// Hold keeps Make away from a finished handover while it is being read; several
// readers may hold it. It fails with *Trouble while Make is at work. Where there is
// no work folder nothing is held: Make hasn't begun, and a later change shows in
// the sums. release gives it back.
func (f *Finished) Hold() (release func(), err error) {
	work, err := safefile.OpenWithin(f.work, f.work, nil)
	var in *os.File
	if err == nil {
		in, err = work.Open(lockName)
		work.Close()
	}
	if errors.Is(err, safefile.ErrLink) {
		return nil, writing(filepath.Join(f.work, lockName), err)
	}
	if err != nil {
		return func() {}, nil
	}
	taken, err := safefile.Lock(in, false)
	if err != nil {
		taken = !holderAlive(in)
	}
	if !taken {
		defer in.Close()
		return nil, atWork(f.work, in)
	}
	return func() { _ = safefile.Unlock(in); in.Close() }, nil
}

// release gives the lock back. The file stays: removing it could take it away
// from a run that has just opened it.
func (l *lock) release() {
	_ = l.f.Truncate(0)
	_ = safefile.Unlock(l.f)
	_ = l.f.Close()
}

func holderPID(f *os.File) int {
	text, _ := io.ReadAll(io.NewSectionReader(f, 0, 32))
	pid, _ := strconv.Atoi(strings.TrimSpace(string(text)))
	return pid
}

func holderAlive(f *os.File) bool {
	pid := holderPID(f)
	return pid > 0 && pid != os.Getpid() && isAlive(pid)
}

func holder(f *os.File) words.Sentence {
	if pid := holderPID(f); pid > 0 {
		return words.Tell(" (process %d)", pid)
	}
	return words.Sentence{}
}
