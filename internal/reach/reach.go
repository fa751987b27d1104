// Package reach opens files that a stranger may have prepared. It decides which files a
// job may name, and it opens regular files only, without waiting for a pipe's other end.
//
//	r := &reach.Reach{Folders: []string{"/jobs/2291-B"}}
//	f, err := r.Open("/jobs/2291-B/log.csv", 64<<20)
//	_, err = r.Open("/jobs/2291-B/../../etc/passwd", 64<<20) // errors.Is(err, reach.ErrOutside)
//
// A path is judged once its symbolic links are resolved, and the file is opened beneath
// the folder that was judged, so that a link put there in between leads nowhere else.
// It doesn't promise that a file keeps its content after it was opened.
package reach

import (
	"errors"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// AnySize is for files whose size isn't bounded: they are read bit by bit.
const AnySize = math.MaxInt64

// between is called where somebody may exchange what was looked at; tests do.
var between = func() {}

// A Reach says which files may be opened. The zero Reach reaches nothing.
type Reach struct {
	Folders  []string // absolute; everything in them that isn't reached through a link leading out
	Named    []string // absolute paths of single files, wherever their links lead
	Anywhere bool     // every file
}

// Open opens a regular file of at most so many bytes for reading. Its errors are *Error,
// or the system's own.
func (r *Reach) Open(path string, most int64) (f *os.File, err error) {
	path = filepath.Clean(path)
	if r.Anywhere || slices.Contains(r.Named, path) {
		return Open(path, most)
	}
	err = r.beneath(path, func(root *os.Root, name string) (err error) {
		f, err = openIn(root, name, most)
		return err
	})
	return f, err
}

// Read reads a whole file of at most so many bytes.
func (r *Reach) Read(path string, most int64) ([]byte, error) {
	f, err := r.Open(path, most)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return readAll(f, most)
}

// Stat describes a file or folder that may be opened, links resolved.
func (r *Reach) Stat(path string) (info fs.FileInfo, err error) {
	path = filepath.Clean(path)
	if r.Anywhere || slices.Contains(r.Named, path) {
		return os.Stat(path)
	}
	err = r.beneath(path, func(root *os.Root, name string) (err error) {
		info, err = root.Stat(name)
		return err
	})
	return info, err
}

// beneath calls do with an opened folder of r and the path's name in it.
func (r *Reach) beneath(path string, do func(root *os.Root, name string) error) error {
	err := error(outside())
	for _, folder := range r.Folders {
		name, ok := nameIn(folder, path)
		if !ok {
			continue
		}
		if err = inFolder(folder, name, do); !leadsOut(err) {
			return err
		}
	}
	if errors.Is(err, ErrOutside) {
		return err // nothing on the disk was touched
	}
	// A link on the way is absolute, or leads from one of the folders into another.
	return r.resolved(path, do)
}

// inFolder opens folder and calls do.
func inFolder(folder, name string, do func(root *os.Root, name string) error) error {
	// The dot keeps a pipe in the folder's place from being waited for.
	root, err := os.OpenRoot(folder + string(filepath.Separator) + ".")
	if err != nil {
		return err
	}
	defer root.Close()
	between()
	return do(root, name)
}

// nameIn is the path's name in the folder, by the words of both alone: nothing is
// touched, since on Windows a look at another computer's path sends it our user's name.
func nameIn(folder, path string) (name string, ok bool) {
	for _, base := range []string{folder, realPath(folder)} {
		if rel, err := filepath.Rel(base, path); err == nil && filepath.IsLocal(rel) {
			return rel, true
		}
	}
	return "", false
}

func realPath(path string) string {
	if real, err := filepath.EvalSymlinks(path); err == nil {
		return real
	}
	return path
}

// resolved resolves the path's links and looks whether it then lies in one of the
// folders, by their identity.
func (r *Reach) resolved(path string, do func(root *os.Root, name string) error) error {
	if !followsAbsolute {
		return outside()
	}
	real, err := filepath.EvalSymlinks(path)
	if err != nil {
		return err
	}
	for dir := real; ; dir = filepath.Dir(dir) {
		if r.isFolder(dir) {
			name, err := filepath.Rel(dir, real)
			if err != nil {
				return err
			}
			if err = inFolder(dir, name, do); leadsOut(err) {
				return outside() // exchanged meanwhile
			}
			return err
		}
		if dir == filepath.Dir(dir) {
			return outside()
		}
	}
}

func (r *Reach) isFolder(dir string) bool {
	info, err := os.Stat(dir)
	if err != nil {
		return false
	}
	return slices.ContainsFunc(r.Folders, func(folder string) bool {
		other, err := os.Stat(folder)
		return err == nil && os.SameFile(info, other)
	})
}

// leadsOut reports os.Root's refusal of a link or a name that leaves it. Its error has
// no name, only this text.
func leadsOut(err error) bool {
	var at *fs.PathError
	return errors.As(err, &at) && strings.Contains(at.Err.Error(), "escapes")
}

// Open opens a regular file of at most so many bytes that the person who runs pushcue
// named, or that lies in a folder which only that person writes to. Links are followed.
func Open(path string, most int64) (*os.File, error) {
	if namesNoFile(path) {
		return nil, notFile(noName)
	}
	info, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if err := fits(info, most); err != nil {
		return nil, err
	}
	between()
	f, err := os.OpenFile(path, os.O_RDONLY|nonblock, 0)
	return checked(f, most, err)
}

// Read reads a whole file as Open opens it, of at most so many bytes.
func Read(path string, most int64) ([]byte, error) {
	f, err := Open(path, most)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return readAll(f, most)
}

// Beneath opens the regular file of that name, of at most so many bytes, in a folder of
// ours. A link on the way from the folder to it is refused, one that leads inward too:
// we make none.
func Beneath(folder, name string, most int64) (f *os.File, err error) {
	name = filepath.FromSlash(name)
	if !filepath.IsLocal(name) {
		return nil, outside()
	}
	err = inFolder(folder, name, func(root *os.Root, name string) error {
		for range patience {
			var same bool
			if f, same, err = openPlainly(root, name, most); err != nil || same {
				return err
			}
			f.Close() // exchanged meanwhile: by a link, or by a newer file of ours
		}
		f = nil
		return link()
	})
	return f, err
}

// patience is how often a file may be exchanged while it is being opened. Ours are, now
// and then, since each appears under its name when it is whole.
const patience = 20

// openPlainly opens the file of that name where no part of the name is a link. same is
// whether it is the one that stood there before it was opened.
func openPlainly(root *os.Root, name string, most int64) (f *os.File, same bool, err error) {
	var last fs.FileInfo
	for i := range name + string(filepath.Separator) {
		if i < len(name) && !os.IsPathSeparator(name[i]) {
			continue
		}
		if last, err = root.Lstat(name[:i]); err != nil {
			return nil, false, err
		}
		if isLink(last) {
			return nil, false, link()
		}
	}
	if f, err = openIn(root, name, most); err != nil {
		return nil, false, err
	}
	opened, err := f.Stat()
	return f, err == nil && os.SameFile(opened, last), nil
}

// ReadBeneath reads a whole file as Beneath opens it, of at most so many bytes.
func ReadBeneath(folder, name string, most int64) ([]byte, error) {
	f, err := Beneath(folder, name, most)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return readAll(f, most)
}

// isLink reports a symbolic link, or what Windows has besides: a junction.
func isLink(info fs.FileInfo) bool {
	return info.Mode()&(fs.ModeSymlink|fs.ModeIrregular) != 0
}

// Folder opens a folder of ours, for another program to write to. A link isn't followed.
func Folder(path string) (*os.File, error) {
	return os.OpenFile(path, os.O_RDONLY|nonblock|folderItself, 0)
}

// openIn opens a regular file beneath an opened folder.
func openIn(root *os.Root, name string, most int64) (*os.File, error) {
	if namesNoFile(name) {
		return nil, notFile(noName)
	}
	// Asked first: opening a device may already do something to it.
	info, err := root.Stat(name)
	if err != nil {
		return nil, err
	}
	if err := fits(info, most); err != nil {
		return nil, err
	}
	between()
	f, err := root.OpenFile(name, os.O_RDONLY|nonblock, 0)
	return checked(f, most, err)
}

// checked refuses what was opened and isn't such a file after all.
func checked(f *os.File, most int64, err error) (*os.File, error) {
	if err != nil {
		return nil, err
	}
	info, err := f.Stat()
	if err == nil {
		err = fits(info, most)
	}
	if err != nil {
		f.Close()
		return nil, err
	}
	return f, nil
}

// readAll reads what was opened, which may have grown meanwhile.
func readAll(f *os.File, most int64) ([]byte, error) {
	data, err := io.ReadAll(io.LimitReader(f, most+1))
	if err == nil && int64(len(data)) > most {
		err = tooLarge(most)
	}
	if err != nil {
		return nil, err
	}
	return data, nil
}
