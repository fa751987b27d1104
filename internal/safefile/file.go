package safefile

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"time"
)

// What touches the disk, so that tests can make it fail.
var (
	openTemp = func(dir *os.Root, name string, perm fs.FileMode) (handle, error) {
		return dir.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_EXCL, perm)
	}
	rename = renameAt
	fsync  = (*os.File).Sync
	pause  = time.Sleep
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
	folder     *Folder
	dir        *os.Root // holds the file
	path       string   // of the final file, for messages
	temp, leaf string   // in dir
	f          handle
	private    bool // no mode of the file before is taken over
	done       bool
	failed     error // the first write that failed: what follows can't be trusted
}

// Create starts a file that is to stand at path.
func Create(path string) (*File, error) {
	dir, err := Open(filepath.Dir(path))
	if err != nil {
		return nil, cause(path, err)
	}
	defer dir.Close()
	return dir.Create(filepath.Base(path))
}

// Create starts a file that is to stand at name. The folder that holds it must exist.
func (f *Folder) Create(name string) (*File, error) { return f.createWith(name, 0o666) }

func (f *Folder) createWith(name string, perm fs.FileMode) (*File, error) {
	dir, leaf, err := f.parent(name, false)
	if err != nil {
		return nil, cause(f.At(name), err)
	}
	file, err := f.create(dir, leaf, f.At(name), perm)
	if err != nil {
		dir.Close()
		return nil, cause(f.At(name), err)
	}
	return file, nil
}

func (f *Folder) create(dir *os.Root, leaf, path string, perm fs.FileMode) (*File, error) {
	// Random names are tried until one is free; a hundred taken ones mean that
	// something else is wrong.
	for range 100 {
		temp := tempPrefix + randomName() + tempSuffix
		if err := step("create", join(dir, temp)); err != nil {
			return nil, err
		}
		file, err := openTemp(dir, temp, perm)
		if errors.Is(err, fs.ErrExist) {
			continue
		}
		if err != nil {
			return nil, err
		}
		return &File{folder: f, dir: dir, path: path, temp: temp, leaf: leaf, f: file, private: perm&0o077 == 0}, nil
	}
	return nil, errors.New("no free temporary name beside it")
}

// Write adds to the file.
func (f *File) Write(b []byte) (int, error) {
	if f.failed != nil {
		return 0, f.failed
	}
	err := step("write", f.path)
	n := 0
	if err == nil {
		n, err = f.f.Write(b)
	}
	if err != nil {
		f.failed = cause(f.path, err)
	}
	return n, f.failed
}

// Commit makes the file final, replacing what stood there.
func (f *File) Commit() error {
	return f.commit(func() error { return patiently(func() error { return rename(f.dir, f.temp, f.dir, f.leaf) }) })
}

// CommitNew makes the file final unless something stands there already: fs.ErrExist.
func (f *File) CommitNew() error {
	return f.commit(func() error { return patiently(func() error { return renameNew(f.dir, f.temp, f.leaf) }) })
}

// Abort throws the file away. After Commit or CommitNew it does nothing.
func (f *File) Abort() {
	if f.done {
		return
	}
	f.done = true
	defer f.dir.Close()
	f.f.Close()
	if step("remove", join(f.dir, f.temp)) == nil {
		f.dir.Remove(f.temp)
	}
}

func (f *File) commit(publish func() error) error {
	if f.done {
		return cause(f.path, fs.ErrClosed)
	}
	defer f.Abort()
	if f.failed != nil {
		return f.failed
	}
	if err := f.folder.mayReplace(f.dir, f.leaf); err != nil {
		return cause(f.path, err)
	}
	if old, err := f.dir.Lstat(f.leaf); err == nil && old.Mode().IsRegular() && !f.private {
		f.f.Chmod(old.Mode().Perm()) // not every file system has modes
	}
	if err := step("sync", f.path); err != nil {
		return cause(f.path, err)
	}
	if err := f.f.Sync(); err != nil && !unsupported(err) {
		return cause(f.path, err)
	}
	// Windows refuses to rename an open file, so it is closed first; Abort closes
	// once more, which does no harm.
	if err := f.f.Close(); err != nil {
		return cause(f.path, err)
	}
	if err := step("rename", f.path); err != nil {
		return cause(f.path, err)
	}
	if err := publish(); err != nil {
		return cause(f.path, err)
	}
	f.done = true
	defer f.dir.Close()
	return cause(f.path, syncDir(f.dir))
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
