package reach

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"time"

	"pushcue/timeline/words"
)

// ErrChanged means that a Source isn't the file any more that it was when it was opened
// first.
var ErrChanged = errors.New("changed while it was read")

// A Source is a file that is read several times and must be the same file each time. Its
// first opening decides which one that is. Once its path leads to another file, or the
// file was written to, opening it fails with ErrChanged. Several goroutines may use it.
type Source struct {
	Path string // absolute
	Name string // what messages call it
	open func() (*os.File, error)

	mu    sync.Mutex
	first *identity
	kept  *os.File
}

// An identity tells a file from all others and from its own earlier content.
type identity struct {
	info fs.FileInfo
	born time.Time // the zero time where the system doesn't tell
}

// NewSource returns a Source that open opens; it is called for each reading.
func NewSource(path, name string, open func() (*os.File, error)) *Source {
	return &Source{Path: path, Name: name, open: open}
}

// Source returns a Source that r opens, of at most so many bytes.
func (r *Reach) Source(path, name string, most int64) *Source {
	return NewSource(path, name, func() (*os.File, error) { return r.Open(path, most) })
}

// Named returns a Source of any size that the person who runs pushcue named; see Open.
func Named(path, name string) *Source {
	return NewSource(path, name, func() (*os.File, error) { return Open(path, AnySize) })
}

// Ours returns a Source that we wrote ourselves; see Beneath.
func Ours(path string) *Source {
	return NewSource(path, filepath.Base(path), func() (*os.File, error) {
		return Beneath(filepath.Dir(path), filepath.Base(path), AnySize)
	})
}

// Open opens the file. Its errors are those of Reach.Open, and ErrChanged.
func (s *Source) Open() (*os.File, error) {
	f, err := s.open()
	if err != nil {
		return nil, err
	}
	if err := s.Verify(f); err != nil {
		f.Close()
		return nil, err
	}
	return f, nil
}

// Pin opens the file for another program to read. On Windows, which has no way to hand
// over an open file, nobody can replace or write to the file until it is closed.
func (s *Source) Pin() (*os.File, error) {
	f, err := s.Open()
	if err != nil {
		return nil, err
	}
	return pinned(f)
}

// Keep holds the file open until Release. The system then gives its number to no other
// file, and a drive can't be taken out.
func (s *Source) Keep() error {
	f, err := s.Open()
	if err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.kept != nil {
		return f.Close()
	}
	s.kept = f
	return nil
}

// Release ends what Keep began.
func (s *Source) Release() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.kept != nil {
		s.kept.Close()
		s.kept = nil
	}
}

// Verify fails with ErrChanged where f, which was opened for s, isn't the file of the first
// opening, or was written to since.
func (s *Source) Verify(f *os.File) error {
	info, err := f.Stat()
	if err != nil {
		return err
	}
	now := &identity{info: info, born: born(f)}
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.first == nil {
		s.first = now
	}
	if !s.first.same(now) {
		return &Error{Text: words.Tell("changed while it was read"), Hint: words.Tell("wait until it is copied whole, then run again"), Err: ErrChanged}
	}
	return nil
}

// Unchanged fails as Open does where the path doesn't lead to the same file any more.
func (s *Source) Unchanged() error {
	f, err := s.Open()
	if err != nil {
		return err
	}
	return f.Close()
}

// same compares two identities. A file's number may be given to another one once the file
// is removed: then that one's time of creation differs.
func (a *identity) same(b *identity) bool {
	return os.SameFile(a.info, b.info) && a.info.Size() == b.info.Size() && a.info.ModTime().Equal(b.info.ModTime()) && a.born.Equal(b.born)
}
