// Package trouble says what is wrong around a job, not in it: a full disk, a folder that
// can't be written to, a second program, options that don't fit.
package trouble

import (
	"errors"
	"io/fs"
	"path/filepath"
	"strings"
	"syscall"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/safefile"
	"pushcue/timeline/words"
)

func IsLinked(path string) *Trouble {
	return &Trouble{
		Text: words.Tell("%s is a link, and what we write and remove must not lead elsewhere", path),
		Hint: words.Tell("delete the link, or put a plain file or folder in its place, and run the same command again"),
	}
}

// Trouble is something outside the inputs that a person can put right: a full
// disk, a folder that can't be written to, a second run at work.
type Trouble struct {
	Text, Hint words.Sentence
	Full       bool // the disk is full
	Held       bool // somebody else has what was wanted
}

func (t *Trouble) Error() string { return t.Text.String() }

// Refusal is an order that makes no sense as given.
type Refusal struct{ Text, Hint words.Sentence }

func (r *Refusal) Error() string { return r.Text.String() }

// Writing puts an error met while writing into a technician's words.
func Writing(path string, err error) error {
	var known *Trouble
	switch {
	case err == nil, errors.As(err, &known):
		return err
	case errors.Is(err, safefile.ErrLink):
		return IsLinked(pathIn(err, path))
	case errors.Is(err, safefile.ErrNotRegular):
		return &Trouble{
			Text: words.Tell("%s is no plain file", pathIn(err, path)),
			Hint: words.Tell("delete it, or move it elsewhere, and run the same command again"),
		}
	case errors.Is(err, safefile.ErrSource):
		return &Trouble{
			Text: words.Tell("%s is one of the job's own files under another name, and those are never changed", pathIn(err, path)),
			Hint: words.Tell("move it out of the folder that we write to, and run the same command again"),
		}
	case IsDiskFull(err):
		return fullDisk(path)
	case errors.Is(err, syscall.ENOTDIR):
		return &Trouble{
			Text: words.Tell("a folder belongs at %s, and something else stands there", path),
			Hint: words.Tell("move it elsewhere or rename it, then run the command again"),
		}
	case errors.Is(err, fs.ErrPermission), isReadOnly(err):
		return &Trouble{
			Text: words.Tell("%s can't be written to", filepath.Dir(path)),
			Hint: words.Tell("copy the job folder to a disk you may write to, or name another place with --out"),
		}
	}
	return err
}

// pathIn is the path that an error tells of, else the one given.
func pathIn(err error, path string) string {
	if file := (*fs.PathError)(nil); errors.As(err, &file) {
		return file.Path
	}
	return path
}

// NoRoom puts a full disk into a technician's words, whoever met it: it may be the
// one with the job, or the system's own for temporary files. ffmpeg writes to dir.
func NoRoom(dir string, err error) error {
	var file *fs.PathError
	var tool *ffmpeg.Error
	switch {
	case errors.As(err, &tool) && strings.Contains(tool.Stderr, "No space left on device"):
		return fullDisk(dir)
	case IsDiskFull(err) && errors.As(err, &file):
		return fullDisk(file.Path)
	}
	return err
}

func fullDisk(path string) *Trouble {
	if noMoreFiles(path) {
		return &Trouble{
			Text: words.Tell("the disk has no room for more files, though bytes are free on it: %s couldn't be written", path),
			Hint: words.Tell("delete files on it that aren't needed, however small, and run the same command again; what is done already is kept"),
			Full: true,
		}
	}
	return &Trouble{
		Text: words.Tell("the disk is full: %s couldn't be written", path),
		Hint: words.Tell("make room and run the same command again; what is done already is kept"),
		Full: true,
	}
}
