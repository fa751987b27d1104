package safefile

import (
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path"
)

// OpenFile opens a plain file below the folder with the flags of os.OpenFile. What is
// opened for writing has no second name elsewhere and is none of the files that the
// folder protects.
func (f *Folder) OpenFile(name string, flag int, perm fs.FileMode) (*os.File, error) {
	file, err := f.openFile(name, flag, perm)
	if err != nil || !isWriting(flag) {
		return file, err
	}
	if info, err := file.Stat(); err != nil || linkCount(info) > 1 {
		file.Close()
		return nil, f.fail("open", name, errors.Join(ErrLink, err))
	}
	return file, nil
}

func isWriting(flag int) bool { return flag&(os.O_WRONLY|os.O_RDWR) != 0 }

// openFile is OpenFile for a file that may have several names.
func (f *Folder) openFile(name string, flag int, perm fs.FileMode) (*os.File, error) {
	dir, leaf, err := f.parent(name, false)
	if err != nil {
		return nil, err
	}
	defer dir.Close()
	for range 3 { // another program may create or remove it meanwhile
		var file *os.File
		if file, err = f.openLeaf(dir, leaf, flag, perm); !errors.Is(err, errAgain) {
			return file, f.fail("open", name, err)
		}
	}
	return nil, f.fail("open", name, err)
}

var errAgain = errors.New("something else is creating and removing it")

func (f *Folder) openLeaf(dir *os.Root, leaf string, flag int, perm fs.FileMode) (*os.File, error) {
	info, err := dir.Lstat(leaf)
	if errors.Is(err, fs.ErrNotExist) && flag&os.O_CREATE != 0 {
		if err := step("create", join(dir, leaf)); err != nil {
			return nil, err
		}
		file, err := dir.OpenFile(leaf, flag|os.O_EXCL, perm) // O_EXCL follows no link
		if errors.Is(err, fs.ErrExist) && flag&os.O_EXCL == 0 {
			return nil, errAgain
		}
		return file, err
	}
	switch {
	case err != nil:
		return nil, err
	case isLink(info):
		return nil, ErrLink
	case !info.Mode().IsRegular():
		return nil, ErrNotRegular
	case flag&os.O_EXCL != 0:
		return nil, fs.ErrExist
	case isWriting(flag) && f.protected.holds(info):
		return nil, ErrSource
	}
	if err := step("open", join(dir, leaf)); err != nil {
		return nil, err
	}
	file, err := dir.OpenFile(leaf, flag&^(os.O_CREATE|os.O_TRUNC)|withoutWaiting, 0)
	if errors.Is(err, fs.ErrNotExist) && flag&os.O_CREATE != 0 {
		return nil, errAgain
	}
	if err != nil {
		return nil, err
	}
	now, err := file.Stat()
	switch {
	case err != nil:
	case !os.SameFile(info, now) || !now.Mode().IsRegular():
		err = ErrLink
	case flag&os.O_TRUNC != 0:
		err = file.Truncate(0)
	}
	if err != nil {
		file.Close()
		return nil, err
	}
	return file, nil
}

// Remove removes a file, a link itself, or an empty folder.
func (f *Folder) Remove(name string) error {
	dir, leaf, err := f.parent(name, false)
	if err != nil {
		return err
	}
	defer dir.Close()
	return f.fail("remove", name, f.removeLeaf(dir, leaf))
}

func (f *Folder) removeLeaf(dir *os.Root, leaf string) error {
	info, err := dir.Lstat(leaf)
	if err != nil {
		return err
	}
	if f.protected.holds(info) {
		return ErrSource
	}
	if err := step("remove", join(dir, leaf)); err != nil {
		return err
	}
	return dir.Remove(leaf)
}

// RemoveAll removes whatever stands at name. Links in it are removed, not followed.
// What isn't there is no error.
func (f *Folder) RemoveAll(name string) error {
	dir, leaf, err := f.parent(name, false)
	if err == nil {
		defer dir.Close()
		err = f.fail("remove", name, f.removeTree(dir, leaf))
	}
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}

func (f *Folder) removeTree(dir *os.Root, leaf string) error {
	info, err := dir.Lstat(leaf)
	if err != nil {
		return err
	}
	if !info.IsDir() {
		return f.removeLeaf(dir, leaf)
	}
	sub, err := enter(dir, leaf, false)
	if err != nil {
		return err
	}
	defer sub.Close()
	entries, err := fs.ReadDir(sub.FS(), ".")
	if err != nil {
		return err
	}
	for _, e := range entries {
		if err := f.removeTree(sub, e.Name()); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return f.removeLeaf(dir, leaf)
}

// Move gives a file that was written by other means its final name, in this folder or
// another one on the same drive, replacing what stood there. Its bytes are synced
// first.
func (f *Folder) Move(name string, to *Folder, final string) error {
	return cause(to.At(final), f.move(name, to, final))
}

func (f *Folder) move(name string, to *Folder, final string) error {
	fromDir, from, err := f.parent(name, false)
	if err != nil {
		return err
	}
	defer fromDir.Close()
	toDir, leaf, err := to.parent(final, true)
	if err != nil {
		return err
	}
	defer toDir.Close()
	file, err := f.openLeaf(fromDir, from, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	err = fsync(file)
	if closed := file.Close(); err == nil || unsupported(err) {
		err = closed
	}
	if err != nil {
		return err
	}
	if err := to.mayReplace(toDir, leaf); err != nil {
		return err
	}
	if err := step("rename", join(toDir, leaf)); err != nil {
		return err
	}
	if err := patiently(func() error { return rename(fromDir, from, toDir, leaf) }); err != nil {
		return err
	}
	return syncDir(toDir)
}

// mayReplace refuses to give a name to another file that a protected one has.
func (f *Folder) mayReplace(dir *os.Root, leaf string) error {
	if info, err := dir.Lstat(leaf); err == nil && f.protected.holds(info) {
		return ErrSource
	}
	return nil
}

// Rename gives a file or folder another name in the same folder, unless it is taken:
// fs.ErrExist.
func (f *Folder) Rename(name, final string) error {
	if path.Dir(name) != path.Dir(final) {
		return f.fail("rename", final, ErrName)
	}
	dir, from, err := f.parent(name, false)
	if err != nil {
		return err
	}
	defer dir.Close()
	info, err := dir.Lstat(from)
	if err == nil && f.protected.holds(info) {
		err = ErrSource
	}
	if err == nil {
		err = step("rename", join(dir, path.Base(final)))
	}
	if err == nil {
		err = patiently(func() error { return renameNew(dir, from, path.Base(final)) })
	}
	if err == nil {
		err = syncDir(dir)
	}
	return f.fail("rename", final, err)
}

// A Temp is a folder for unfinished files, readable by this user alone.
type Temp struct {
	*Folder
	within *Folder
	name   string
	alone  bool // within was opened for it and is closed with it
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
	err := t.within.RemoveAll(t.name)
	if t.alone {
		t.within.Close()
	}
	return err
}

// TempFile creates a file in the folder that goes when it is closed.
func (f *Folder) TempFile(prefix string) (*TempFile, error) {
	name := prefix + randomName()
	file, err := f.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return nil, err
	}
	return &TempFile{file, f, name}, nil
}

// A TempFile is an open file that goes when it is closed.
type TempFile struct {
	*os.File
	within *Folder
	name   string
}

// Close closes the file and removes it.
func (t *TempFile) Close() error { return errors.Join(t.File.Close(), t.within.Remove(t.name)) }

func randomName() string {
	var b [8]byte
	for i := range b {
		b[i] = byte(rand.Uint32())
	}
	return hex.EncodeToString(b[:])
}

// System opens the system's folder for temporary files and creates one in it.
func System(prefix string) (*Temp, error) {
	dir, err := Open(os.TempDir())
	if err != nil {
		return nil, fmt.Errorf("the system's folder for temporary files: %w", err)
	}
	temp, err := dir.TempFolder(prefix)
	if err != nil {
		dir.Close()
		return nil, err
	}
	temp.alone = true
	return temp, nil
}
