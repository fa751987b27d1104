package safefile

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"syscall"
	"time"
)

// What touches the disk, so that tests can make it fail.
var (
	openTemp = func(path string) (handle, error) { return os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o666) }
	rename   = os.Rename
	pause    = time.Sleep
)

type handle interface {
	io.Writer
	Sync() error
	Close() error
	Chmod(fs.FileMode) error
}

// A File is being written under a temporary name. It becomes the final file with
// Commit or CommitNew, or goes with Abort; one of them must be called.
type File struct {
	path, temp string
	f          handle
	done       bool
	failed     error // the first write that failed: what follows can't be trusted
}

// Create starts a file that is to stand at path.
func Create(path string) (*File, error) {
	// Random names are tried until one is free; a hundred taken ones mean that
	// something else is wrong.
	for range 100 {
		temp := filepath.Join(filepath.Dir(path), fmt.Sprintf("%s%016x%s", tempPrefix, rand.Uint64(), tempSuffix))
		f, err := openTemp(temp)
		if errors.Is(err, fs.ErrExist) {
			continue
		}
		if err != nil {
			return nil, cause(path, err)
		}
		return &File{path: path, temp: temp, f: f}, nil
	}
	return nil, cause(path, errors.New("no free temporary name beside it"))
}

// Write adds to the file.
func (f *File) Write(b []byte) (int, error) {
	if f.failed != nil {
		return 0, f.failed
	}
	n, err := f.f.Write(b)
	if err != nil {
		f.failed = cause(f.path, err)
	}
	return n, f.failed
}

// Commit makes the file final, replacing what stood there.
func (f *File) Commit() error {
	return f.commit(func() error { return patiently(func() error { return rename(f.temp, f.path) }) })
}

// CommitNew makes the file final unless something stands there already: fs.ErrExist.
func (f *File) CommitNew() error {
	return f.commit(func() error { return patiently(func() error { return renameNew(f.temp, f.path) }) })
}

// Abort throws the file away. After Commit or CommitNew it does nothing.
func (f *File) Abort() {
	if f.done {
		return
	}
	f.done = true
	f.f.Close()
	os.Remove(f.temp)
}

func (f *File) commit(publish func() error) error {
	if f.done {
		return cause(f.path, fs.ErrClosed)
	}
	defer f.Abort()
	if f.failed != nil {
		return f.failed
	}
	if old, err := os.Lstat(f.path); err == nil && old.Mode().IsRegular() {
		f.f.Chmod(old.Mode().Perm()) // not every file system has modes
	}
	if err := f.f.Sync(); err != nil && !unsupported(err) {
		return cause(f.path, err)
	}
	// Windows refuses to rename an open file, so it is closed first; Abort closes
	// once more, which does no harm.
	if err := f.f.Close(); err != nil {
		return cause(f.path, err)
	}
	if err := publish(); err != nil {
		return cause(f.path, err)
	}
	f.done = true
	return cause(f.path, syncDir(filepath.Dir(f.path)))
}

// Move gives a file that was written by other means its final name, on the same
// drive, replacing what stood there. Its bytes are synced first.
func Move(from, to string) error {
	f, err := os.OpenFile(from, os.O_RDWR, 0)
	if err != nil {
		return cause(to, err)
	}
	err = f.Sync()
	if closed := f.Close(); err == nil || unsupported(err) {
		err = closed
	}
	if err != nil {
		return cause(to, err)
	}
	if err := patiently(func() error { return rename(from, to) }); err != nil {
		return cause(to, err)
	}
	if err := syncDir(filepath.Dir(to)); err != nil {
		return cause(to, err)
	}
	return nil
}

// patiently tries again for about two seconds where another program holds the final
// name open: on Windows a player or a virus scanner may, for moments.
func patiently(publish func() error) error { return patientlyWith(heldOpen, publish) }

func patientlyWith(passing func(error) bool, publish func() error) error {
	wait := 5 * time.Millisecond
	for {
		err := publish()
		if err == nil || !passing(err) || wait > time.Second {
			return err
		}
		pause(wait)
		wait *= 2
	}
}

// cause names the final file instead of the temporary one, which means nothing to
// anybody. A nil error stays nil.
func cause(path string, err error) error {
	if err == nil {
		return nil
	}
	if e := (*fs.PathError)(nil); errors.As(err, &e) {
		err = e.Err
	} else if e := (*os.LinkError)(nil); errors.As(err, &e) {
		err = e.Err
	}
	return &fs.PathError{Op: "write", Path: path, Err: err}
}

// unsupported tells that a file system has no such operation, which is no fault.
func unsupported(err error) bool {
	return errors.Is(err, errors.ErrUnsupported) || errors.Is(err, syscall.EINVAL)
}
