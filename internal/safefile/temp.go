package safefile

import (
	"encoding/hex"
	"errors"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
)

// A Temp is a folder for unfinished files, readable by this user alone.
type Temp struct {
	*Folder
	within *Folder
	name   string
	alone  bool     // within was opened for it and is closed with it
	lock   *os.File // of one in the system's own folder: see SystemTemp
}

// TempFolder creates a folder with a name of its own that begins with prefix.
func (f *Folder) TempFolder(prefix string) (*Temp, error) {
	for range 100 {
		name := prefix + randomName()
		if err := step("mkdir", f.At(name)); err != nil {
			return nil, err
		}
		err := f.root.Mkdir(name, 0o700)
		if errors.Is(err, fs.ErrExist) {
			continue
		}
		if err != nil {
			return nil, f.fail("mkdir", name, err)
		}
		sub, err := f.Folder(name)
		if err != nil {
			return nil, err
		}
		return &Temp{Folder: sub, within: f, name: name}, nil
	}
	return nil, f.fail("mkdir", prefix, errors.New("no free temporary name in it"))
}

// Discard closes the folder and removes it with all that it holds.
func (t *Temp) Discard() error {
	t.Close()
	if t.lock != nil {
		_ = Unlock(t.lock)
		t.lock.Close()
	}
	err := t.within.RemoveAll(t.name)
	if t.alone {
		t.within.Close()
	}
	return err
}

// TempWithin creates a folder in the one at path, which is top or lies below it; see
// MakeWithin. Where that can't be written to, it creates one in the system's own.
func TempWithin(top, path, prefix string) (*Temp, error) {
	if dir, err := MakeWithin(top, path, nil); err == nil {
		if t, err := dir.aloneTemp(prefix); err == nil {
			return t, nil
		}
	}
	return SystemTemp("pushcue-" + prefix)
}

// aloneTemp creates a folder in one that is closed with it.
func (f *Folder) aloneTemp(prefix string) (*Temp, error) {
	t, err := f.TempFolder(prefix)
	if err != nil {
		f.Close()
		return nil, err
	}
	t.alone = true
	return t, nil
}

// A TempFile is an open file that goes when it is closed.
type TempFile struct {
	*os.File
	within *Folder
	name   string
}

// NewTempFile creates a file with a name of its own in the folder at path.
func NewTempFile(path, prefix string) (*TempFile, error) {
	dir, err := Open(path)
	if err != nil {
		return nil, err
	}
	name := prefix + randomName()
	file, err := dir.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		dir.Close()
		return nil, err
	}
	return &TempFile{file, dir, name}, nil
}

// Close closes the file and removes it.
func (t *TempFile) Close() error {
	return errors.Join(t.File.Close(), t.within.Remove(t.name), t.within.Close())
}

func randomName() string {
	var b [8]byte
	for i := range b {
		b[i] = byte(rand.Uint32())
	}
	return hex.EncodeToString(b[:])
}

// LinkTo makes the file at path readable as name, whatever the system allows: by a
// symbolic link, by a second name, or by a copy. Windows lets few users make symbolic
// links, and second names stay on one drive.
func (f *Folder) LinkTo(name, path string) error {
	if _, err := os.Stat(path); err != nil {
		return err
	}
	return f.link(name, func(dir *os.Root, leaf string) error {
		if dir.Symlink(path, leaf) == nil || os.Link(path, join(dir, leaf)) == nil {
			return nil
		}
		return f.copy(name, path)
	})
}

// PointTo makes name a symbolic link to target, which needn't exist for us: a path in
// /proc/self means another file to each process.
func (f *Folder) PointTo(name, target string) error {
	return f.link(name, func(dir *os.Root, leaf string) error { return dir.Symlink(target, leaf) })
}

// link has do make a link in the folder that name lies in.
func (f *Folder) link(name string, do func(dir *os.Root, leaf string) error) error {
	dir, leaf, err := f.parent(name, true)
	if err != nil {
		return err
	}
	defer dir.Close()
	if err := step("link", join(dir, leaf)); err != nil {
		return err
	}
	return do(dir, leaf)
}

// Handle opens the folder itself, whatever its path leads to by now.
func (f *Folder) Handle() (*os.File, error) { return f.root.Open(".") }

func (f *Folder) copy(name, path string) error {
	from, err := os.OpenFile(path, os.O_RDONLY|withoutWaiting, 0)
	if err != nil {
		return err
	}
	defer from.Close()
	if info, err := from.Stat(); err != nil || !info.Mode().IsRegular() {
		return errors.Join(f.fail("copy", name, ErrNotRegular), err)
	}
	to, err := f.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	_, err = io.Copy(to, from)
	return errors.Join(err, to.Close())
}
