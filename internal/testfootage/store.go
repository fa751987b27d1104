package testfootage

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"sync"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/lockedfile"
)

// edition changes when the same Spec would give another recording.
const edition = 3

const (
	// unused is how long a recording that nobody asks for is kept. Editions that
	// are no longer made go the same way, so that checkouts of different ages can
	// share the store.
	unused = 30 * 24 * time.Hour

	// marked is how old the note of the last use may become.
	marked = 24 * time.Hour
)

// Numbered returns the path of the recording that spec describes, making it
// where the store doesn't have it. The file is shared with all other tests: one
// that wants to change it works on a copy.
func Numbered(t testing.TB, spec Spec) string {
	t.Helper()
	path, err := Make(context.Background(), spec)
	if err != nil {
		t.Fatalf("test footage %+v: %v", spec, err)
	}
	return path
}

// Link puts the recording that spec describes at path, whose folder it makes.
// The file is a hard link into the store where the disks allow it: a test that
// changes the recording's bytes or rights works on a copy of Numbered instead.
func Link(t testing.TB, spec Spec, path string) {
	t.Helper()
	from := Numbered(t, spec)
	err := os.MkdirAll(filepath.Dir(path), 0o755)
	if err == nil && os.Link(from, path) != nil {
		err = copyFile(from, path)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// Make is Numbered for programs that aren't tests.
func Make(ctx context.Context, spec Spec) (string, error) {
	spec = spec.whole()
	return keep("recording."+spec.Container, fmt.Sprintf("%+v", spec), func(path string) error {
		return spec.makeIn(ctx, path)
	})
}

// Kept returns the path of a recording that isn't numbered frames, having fill
// make it where the store doesn't have it. The path ends with name. The text of
// key must change with whatever the recording depends on.
func Kept(t testing.TB, name, key string, fill func(path string) error) string {
	t.Helper()
	path, err := keep(name, key, fill)
	if err != nil {
		t.Fatalf("test footage %s (%s): %v", name, key, err)
	}
	return path
}

func keep(name, key string, fill func(path string) error) (string, error) {
	base := storeFolder()
	s := shelf{folder: filepath.Join(base, id(key)), name: name}
	if s.whole() && s.used() {
		return s.path(), nil
	}
	if err := os.MkdirAll(base, 0o755); err != nil {
		return "", err
	}
	tidyOnce.Do(func() { tidy(base, time.Now()) })
	// One makes it, others wait and find it made.
	unlock, err := lock(s.folder)
	if err != nil {
		return "", err
	}
	defer unlock()
	if s.whole() {
		return s.path(), s.mark()
	}
	return s.path(), s.fill(fill)
}

func storeFolder() string {
	if base := os.Getenv("PUSHCUE_TEST_FOOTAGE"); base != "" {
		return base
	}
	cache, err := os.UserCacheDir()
	if err != nil {
		cache = filepath.Join(os.TempDir(), "pushcue-"+strconv.Itoa(os.Getuid()))
	}
	return filepath.Join(cache, "pushcue-test-footage")
}

func id(key string) string {
	sum := sha256.Sum256(fmt.Appendf(nil, "%d %s", edition, key))
	return hex.EncodeToString(sum[:10])
}

// lock keeps all processes but one from making or removing a recording. Sixteen
// locks serve all recordings, so that none of them has to be tidied away.
func lock(folder string) (unlock func(), err error) {
	base, name := filepath.Split(folder)
	return lockedfile.MutexAt(filepath.Join(base, "lock-"+name[:1])).Lock()
}

// A shelf is one recording's folder in the store. Beside the recording lies a
// note of its size and time, by which a recording that was written to through a
// link is found out and made anew. The note's own time is that of the last use.
type shelf struct{ folder, name string }

func (s shelf) path() string { return filepath.Join(s.folder, s.name) }
func (s shelf) note() string { return filepath.Join(s.folder, "made") }

// whole reports whether the recording is there as it was made.
func (s shelf) whole() bool {
	made, err := os.ReadFile(s.note())
	if err != nil {
		return false
	}
	now, err := s.state()
	return err == nil && now == string(made)
}

func (s shelf) state() (string, error) {
	info, err := os.Stat(s.path())
	if err != nil {
		return "", err
	}
	return fmt.Sprint(info.Size(), info.ModTime().UnixNano(), info.Mode()), nil
}

// used reports whether the recording's use has been noted lately, so that no
// tidying takes it away.
func (s shelf) used() bool {
	info, err := os.Stat(s.note())
	return err == nil && time.Since(info.ModTime()) < marked
}

func (s shelf) mark() error {
	now := time.Now()
	return os.Chtimes(s.note(), now, now)
}

// fill makes the recording in a folder beside, which then takes the shelf's
// place. The caller holds the lock.
func (s shelf) fill(makeIn func(path string) error) error {
	fresh := s.folder + ".making"
	// What lies there was left by a run that was killed, or has been changed.
	if err := errors.Join(os.RemoveAll(fresh), os.RemoveAll(s.folder)); err != nil {
		return err
	}
	defer os.RemoveAll(fresh)
	if err := os.Mkdir(fresh, 0o755); err != nil {
		return err
	}
	unfinished := shelf{fresh, s.name}
	if err := makeIn(unfinished.path()); err != nil {
		return err
	}
	if err := os.Chmod(unfinished.path(), 0o444); err != nil {
		return err
	}
	state, err := unfinished.state()
	if err != nil {
		return err
	}
	if err := os.WriteFile(unfinished.note(), []byte(state), 0o644); err != nil {
		return err
	}
	return os.Rename(fresh, s.folder)
}

var (
	tidyOnce sync.Once

	// ours are the names that the store gives, now and in its earlier editions.
	ours = regexp.MustCompile(`^([0-9a-f]{20}(\.making)?|making-[0-9]+)$`)
)

// tidy removes what nobody has used for long. What another process is making or
// about to use is locked, and left alone; so are names that aren't the store's.
func tidy(base string, now time.Time) {
	entries, err := os.ReadDir(base)
	if err != nil {
		return
	}
	for _, e := range entries {
		path := filepath.Join(base, e.Name())
		if !ours.MatchString(e.Name()) || now.Sub(lastUsed(path)) < unused {
			continue
		}
		unlock, err := lock(path)
		if err != nil {
			continue
		}
		if now.Sub(lastUsed(path)) >= unused {
			_ = os.RemoveAll(path)
		}
		unlock()
	}
}

// lastUsed is the time of the folder's note, or else of the folder.
func lastUsed(folder string) time.Time {
	for _, path := range []string{filepath.Join(folder, "made"), folder} {
		if info, err := os.Stat(path); err == nil {
			return info.ModTime()
		}
	}
	return time.Now()
}

func copyFile(from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%s is there already: %w", to, err)
	}
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Close())
}
