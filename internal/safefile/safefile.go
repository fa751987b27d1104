// Package safefile is the only package that changes a disk. What it does happens
// beneath an opened folder, which nothing in a name and no link can leave; and what it
// writes appears whole or not at all: a temporary file beside the final name, synced
// and closed, then renamed.
//
//	dir, err := safefile.Open("job/handover")
//	defer dir.Close()
//	err = dir.Write("log.csv", func(w io.Writer) error { return aligned.WriteTo(w) })
//
// Whoever looks at the final name, however the program or the computer stopped, sees
// the old content or the new, never a part. It doesn't promise that a disk keeps
// what it said it had written, nor that file systems without hard links and without
// a rename that refuses to replace (some network drives) keep two programs that
// create the same new file at the same moment apart.
package safefile

import (
	"context"
	"io"
	"io/fs"
	"path/filepath"
)

// Write puts what write produces in the file at path, which it creates or replaces.
// Nothing changes when write fails. The folder must exist.
func Write(path string, write func(io.Writer) error) error {
	return beside(path, func(dir *Folder, name string) error { return dir.Write(name, write) })
}

// WriteBytes is Write for bytes at hand.
func WriteBytes(path string, b []byte) error {
	return Write(path, bytesWriter(b))
}

// WriteNew is Write for a file that mustn't exist yet; the error is fs.ErrExist when
// it does.
func WriteNew(path string, write func(io.Writer) error) error {
	return beside(path, func(dir *Folder, name string) error { return dir.WriteNew(name, write) })
}

// CreateNew is WriteNew for bytes at hand.
func CreateNew(path string, b []byte) error {
	return WriteNew(path, bytesWriter(b))
}

// Append is Folder.Append for a path.
func Append(ctx context.Context, path string, lines []byte) error {
	return beside(path, func(dir *Folder, name string) error { return dir.Append(ctx, name, lines) })
}

// Write puts what write produces in the file at name, which it creates or replaces.
// Nothing changes when write fails. The folder that holds it must exist.
func (f *Folder) Write(name string, write func(io.Writer) error) error {
	return f.produce(name, 0o666, write, (*File).Commit)
}

// WriteBytes is Write for bytes at hand.
func (f *Folder) WriteBytes(name string, b []byte) error { return f.Write(name, bytesWriter(b)) }

// WriteNew is Write for a file that mustn't exist yet; the error is fs.ErrExist when
// it does.
func (f *Folder) WriteNew(name string, write func(io.Writer) error) error {
	return f.produce(name, 0o666, write, (*File).CommitNew)
}

// WritePrivate is WriteBytes for a file that this user alone may read.
func (f *Folder) WritePrivate(name string, b []byte) error {
	return f.produce(name, 0o600, bytesWriter(b), (*File).Commit)
}

// CreatePrivate is WritePrivate for a file that mustn't exist yet: fs.ErrExist.
func (f *Folder) CreatePrivate(name string, b []byte) error {
	return f.produce(name, 0o600, bytesWriter(b), (*File).CommitNew)
}

// CreateNew is WriteNew for bytes at hand.
func (f *Folder) CreateNew(name string, b []byte) error { return f.WriteNew(name, bytesWriter(b)) }

// beside does something to the file at path in the folder that holds it.
func beside(path string, do func(dir *Folder, name string) error) error {
	dir, err := Open(filepath.Dir(path))
	if err != nil {
		return cause(path, err)
	}
	defer dir.Close()
	return do(dir, filepath.Base(path))
}

func bytesWriter(b []byte) func(io.Writer) error {
	return func(w io.Writer) error {
		_, err := w.Write(b)
		return err
	}
}

func (f *Folder) produce(name string, perm fs.FileMode, write func(io.Writer) error, commit func(*File) error) error {
	file, err := f.createWith(name, perm)
	if err != nil {
		return err
	}
	defer file.Abort() // also when write panics
	if err := write(file); err != nil {
		return err
	}
	return commit(file)
}

// Move is Folder.Move for paths.
func Move(from, to string) error {
	return beside(to, func(dir *Folder, name string) error {
		return beside(from, func(other *Folder, waiting string) error { return other.Move(waiting, dir, name) })
	})
}
