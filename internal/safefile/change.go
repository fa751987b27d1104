package safefile

import (
	"errors"
	"fmt"
	"io/fs"
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
	for range patience {
		var file *os.File
		if file, err = f.openLeaf(dir, leaf, flag, perm); !errors.Is(err, errAgain) {
			return file, f.fail("open", name, err)
		}
	}
	return nil, f.fail("open", name, err)
}

// patience is how often a file may be exchanged while it is being opened. Ours are, now
// and then, since each appears under its name when it is whole.
const patience = 20

var errAgain = fmt.Errorf("%w again and again", ErrLink)

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
		if now, failed := dir.Lstat(leaf); failed == nil && isLink(now) {
			return nil, ErrLink // put there since
		}
		return nil, err
	}
	now, err := file.Stat()
	switch {
	case err != nil:
	case !os.SameFile(info, now):
		err = errAgain
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
	return f.rename(name, final, func(dir *os.Root, from, to string) error {
		err := patiently(func() error { return renameNew(dir, from, to) })
		if err == nil {
			err = syncDir(dir)
		}
		return err
	})
}

// Replace gives a file another name in the same folder, replacing what stood there,
// and doesn't wait for the disk: the caller syncs.
func (f *Folder) Replace(name, final string) error {
	return f.rename(name, final, func(dir *os.Root, from, to string) error {
		if err := f.mayReplace(dir, to); err != nil {
			return err
		}
		return patiently(func() error { return rename(dir, from, dir, to) })
	})
}

// rename has do give a file another name in the same folder. A protected file
// keeps its name.
func (f *Folder) rename(name, final string, do func(dir *os.Root, from, to string) error) error {
	if path.Dir(name) != path.Dir(final) {
		return f.fail("rename", final, ErrName)
	}
	dir, from, err := f.parent(name, false)
	if err != nil {
		return err
	}
	defer dir.Close()
	to := path.Base(final)
	info, err := dir.Lstat(from)
	if err == nil && f.protected.holds(info) {
		err = ErrSource
	}
	if err == nil {
		err = step("rename", join(dir, to))
	}
	if err == nil {
		err = do(dir, from, to)
	}
	return f.fail("rename", final, err)
}
