package safefile

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
)

// Why a Folder refuses an operation.
var (
	ErrLink       = errors.New("is a link, or was exchanged while it was opened")
	ErrNotRegular = errors.New("is no plain file")
	ErrSource     = errors.New("is one of the job's own files")
	ErrName       = errors.New("isn't a name below the folder")
)

// A Folder is an opened folder. Everything done through it happens beneath it: names
// are relative, with forward slashes, and neither they nor a folder on the way may be
// a link. It stays the folder that was opened, even if its path later names another.
//
// Methods may be called at the same time. Errors are *fs.PathError with the full path.
type Folder struct {
	root      *os.Root
	path      string
	protected *Protected
	closing   sync.Once
}

// Open opens the folder at path. Links on the way to it are followed: the path is
// the user's own choice.
func Open(path string) (*Folder, error) {
	if err := step("open", path); err != nil {
		return nil, err
	}
	abs, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	root, err := os.OpenRoot(abs)
	if err != nil {
		return nil, err
	}
	return &Folder{root: root, path: abs}, nil
}

// Make is Open for a folder that is created where it is missing, with those above it.
func Make(path string) (*Folder, error) {
	if err := step("make", path); err != nil {
		return nil, err
	}
	if err := os.MkdirAll(path, 0o755); err != nil {
		return nil, err
	}
	return Open(path)
}

// MakePrivate is Make, where what is created can be looked into by this user alone.
func MakePrivate(path string) (*Folder, error) {
	if err := step("make", path); err != nil {
		return nil, err
	}
	if err := os.MkdirAll(path, 0o700); err != nil {
		return nil, err
	}
	return Open(path)
}

// Close lets go of the folder. Folders opened below it stay open.
func (f *Folder) Close() error {
	var err error
	f.closing.Do(func() { err = f.root.Close() })
	return err
}

// Path is the folder's absolute path when it was opened.
func (f *Folder) Path() string { return f.path }

// At is the path of a name below the folder, for messages and for programs that take
// no opened folder.
func (f *Folder) At(name string) string { return filepath.Join(f.path, filepath.FromSlash(name)) }

// Name is the name of a path that lies below the folder; an error where it doesn't.
func (f *Folder) Name(path string) (string, error) {
	rel, err := filepath.Rel(f.path, path)
	if err != nil || !filepath.IsLocal(rel) {
		return "", &fs.PathError{Op: "open", Path: path, Err: ErrName}
	}
	return filepath.ToSlash(rel), nil
}

// Folder opens a folder below this one.
func (f *Folder) Folder(name string) (*Folder, error) { return f.folder(name, false) }

// MakeFolder is Folder for one that is created where it is missing.
func (f *Folder) MakeFolder(name string) (*Folder, error) { return f.folder(name, true) }

func (f *Folder) folder(name string, create bool) (*Folder, error) {
	root, leaf, err := f.parent(name, create)
	if err != nil {
		return nil, err
	}
	defer root.Close()
	sub, err := enter(root, leaf, create)
	if err != nil {
		return nil, f.fail("open", name, err)
	}
	return &Folder{root: sub, path: f.At(name), protected: f.protected}, nil
}

// parent opens the folder that holds name and returns the last part of the name. The
// caller closes the folder.
func (f *Folder) parent(name string, create bool) (*os.Root, string, error) {
	if !fs.ValidPath(name) || name == "." || !filepath.IsLocal(filepath.FromSlash(name)) {
		return nil, "", f.fail("open", name, ErrName)
	}
	dir, leaf := path.Split(name)
	at, err := f.root.OpenRoot(".")
	if err != nil {
		return nil, "", f.fail("open", name, err)
	}
	way := ""
	for part := range strings.SplitSeq(strings.TrimSuffix(dir, "/"), "/") {
		if part == "" {
			continue
		}
		way = path.Join(way, part)
		sub, err := enter(at, part, create)
		at.Close()
		if err != nil {
			return nil, "", f.fail("open", way, err)
		}
		at = sub
	}
	return at, leaf, nil
}

// enter opens a folder that stands directly in dir. The folder opened is compared
// with what stood at the name before, so that a link is found that takes its place
// in between.
func enter(dir *os.Root, name string, create bool) (*os.Root, error) {
	info, err := dir.Lstat(name)
	if create && errors.Is(err, fs.ErrNotExist) {
		if err := step("mkdir", join(dir, name)); err != nil {
			return nil, err
		}
		if err := dir.Mkdir(name, 0o755); err != nil && !errors.Is(err, fs.ErrExist) {
			return nil, err
		}
		info, err = dir.Lstat(name)
	}
	if err != nil {
		return nil, err
	}
	if isLink(info) {
		return nil, ErrLink
	}
	if !info.IsDir() {
		return nil, syscall.ENOTDIR
	}
	if err := step("enter", join(dir, name)); err != nil {
		return nil, err
	}
	sub, err := dir.OpenRoot(name)
	if err != nil {
		if now, failed := dir.Lstat(name); failed == nil && isLink(now) {
			return nil, ErrLink
		}
		return nil, err
	}
	if now, err := sub.Stat("."); err != nil || !os.SameFile(info, now) {
		sub.Close()
		return nil, errors.Join(ErrLink, err)
	}
	return sub, nil
}

func join(dir *os.Root, name string) string { return filepath.Join(dir.Name(), name) }

// isLink reports symbolic links and what Windows has of the kind (junctions).
func isLink(info fs.FileInfo) bool { return info.Mode()&(fs.ModeSymlink|fs.ModeIrregular) != 0 }

func (f *Folder) fail(op, name string, err error) error {
	if err == nil {
		return nil
	}
	if e := (*fs.PathError)(nil); errors.As(err, &e) {
		err = e.Err
	} else if e := (*os.LinkError)(nil); errors.As(err, &e) {
		err = e.Err
	}
	return &fs.PathError{Op: op, Path: f.At(name), Err: err}
}

// Lstat describes what stands at name; a link is described itself.
func (f *Folder) Lstat(name string) (fs.FileInfo, error) {
	if name == "." {
		return f.root.Stat(".")
	}
	dir, leaf, err := f.parent(name, false)
	if err != nil {
		return nil, err
	}
	defer dir.Close()
	info, err := dir.Lstat(leaf)
	return info, f.fail("lstat", name, err)
}

// Open opens a plain file for reading.
func (f *Folder) Open(name string) (*os.File, error) { return f.OpenFile(name, os.O_RDONLY, 0) }

// ReadFile reads a plain file of at most most bytes.
func (f *Folder) ReadFile(name string, most int64) ([]byte, error) {
	file, err := f.Open(name)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	text, err := io.ReadAll(io.LimitReader(file, most+1))
	if err == nil && int64(len(text)) > most {
		err = fmt.Errorf("is larger than %d bytes", most)
	}
	return text, f.fail("read", name, err)
}

// ReadDir lists a folder below this one, "." for itself, in the order of names.
func (f *Folder) ReadDir(name string) ([]fs.DirEntry, error) {
	at := f
	if name != "." {
		sub, err := f.Folder(name)
		if err != nil {
			return nil, err
		}
		defer sub.Close()
		at = sub
	}
	all, err := fs.ReadDir(at.root.FS(), ".")
	return all, f.fail("readdir", name, err)
}

// Walk calls visit for everything below the folder, folders before what they hold. It
// follows no link. visit may return fs.SkipDir for a folder.
func (f *Folder) Walk(visit func(name string, d fs.DirEntry) error) error { return f.walk("", visit) }

func (f *Folder) walk(below string, visit func(string, fs.DirEntry) error) error {
	entries, err := fs.ReadDir(f.root.FS(), ".")
	if err != nil {
		return f.fail("readdir", ".", err)
	}
	for _, e := range entries {
		name := path.Join(below, e.Name())
		err := visit(name, e)
		if errors.Is(err, fs.SkipDir) {
			continue
		}
		if err != nil {
			return err
		}
		if !e.IsDir() {
			continue
		}
		sub, err := f.Folder(e.Name())
		if errors.Is(err, fs.ErrNotExist) {
			continue // removed meanwhile
		}
		if err == nil {
			err = sub.walk(name, visit)
			sub.Close()
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// OpenWithin opens the folder at path, which is top or lies below it. Links above top
// are followed: they are the user's own choice.
func OpenWithin(top, path string, p *Protected) (*Folder, error) {
	return within(top, path, p, Open, (*Folder).Folder)
}

// MakeWithin is OpenWithin for a folder that is created where it is missing.
func MakeWithin(top, path string, p *Protected) (*Folder, error) {
	return within(top, path, p, Make, (*Folder).MakeFolder)
}

func within(top, path string, p *Protected, open func(string) (*Folder, error), sub func(*Folder, string) (*Folder, error)) (*Folder, error) {
	above, err := open(filepath.Dir(top))
	if err != nil {
		return nil, err
	}
	defer above.Close()
	above.Protect(p)
	name, err := above.Name(path)
	if err != nil {
		return nil, err
	}
	return sub(above, name)
}
