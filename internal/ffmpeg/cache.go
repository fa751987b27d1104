package ffmpeg

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"time"

	"pushcue/internal/reach"
	"pushcue/internal/safefile"
)

// Asking ffmpeg what it can starts four processes: a quarter of a second of CPU time on a
// quick computer, a second on a slow one. A good answer is therefore kept in a file of
// Where.Cache, and used again while the programs are the same files. A bad one never is:
// an unfit ffmpeg may have been repaired. A cache that can't be read, written or
// trusted means asking again, never an error.

const (
	// cacheVersion changes with what check establishes and with the form of the file.
	cacheVersion = 1

	// cacheAge limits what a look at the programs' files can't tell: the libraries behind
	// ffmpeg, the program behind a wrapper script or the driver behind a hardware encoder
	// may change alone. One question a day costs next to nothing.
	cacheAge = 24 * time.Hour

	cacheBytes  = 64 << 10 // a larger file isn't ours
	cachePrefix = "ffmpeg-"
)

// UserCache returns the folder in which kept answers of this user belong, for
// Where.Cache; "" when the system names none. On Linux, XDG_CACHE_HOME moves it.
func UserCache() string {
	dir, err := os.UserCacheDir()
	if err != nil {
		return ""
	}
	return filepath.Join(dir, "pushcue")
}

// An entry is one file of the cache.
type entry struct {
	Questions string    `json:"questions"` // what was asked; see questions
	Programs  []string  `json:"programs"`  // which files answered; see identities
	Asked     time.Time `json:"asked"`

	Version     string `json:"version"`
	Encoder     string `json:"encoder"`
	MapsTones   bool   `json:"maps_tones"`
	OptionFiles bool   `json:"option_files"`
}

// questions identifies what check asks, so that a newer pushcue asks again.
func questions() string {
	sum := sha256.Sum256(fmt.Append(nil, cacheVersion, filters, encoders, oldestMajor, oldestMinor, oldestAVUtilMajor, utilMinor, optionFilesSince, utilSince))
	return fmt.Sprintf("%x", sum[:8])
}

// cached fills in a kept answer about both programs; where there is none it asks, and
// keeps the answer. Several calls at once about the same programs ask once.
func (t *Tools) cached(ctx context.Context, dir string) error {
	path := filepath.Join(dir, cacheName(t.FFmpeg, t.FFprobe))
	unlock, err := lockPath(ctx, path)
	if err != nil {
		return err
	}
	defer unlock()
	programs, err := identities(t.FFmpeg, t.FFprobe)
	if err != nil {
		return t.check(ctx)
	}
	if e, ok := loadEntry(path, programs); ok {
		t.Version, t.Encoder, t.MapsTones, t.optionFiles, t.kept = e.Version, e.Encoder, e.MapsTones, e.OptionFiles, path
		return nil
	}
	asked := time.Now()
	if err := t.check(ctx); err != nil {
		return err
	}
	// Programs that were replaced while they were asked have given mixed answers.
	if still, err := identities(t.FFmpeg, t.FFprobe); err != nil || !slices.Equal(still, programs) {
		return nil
	}
	e := entry{questions(), programs, asked.UTC(), t.Version, t.Encoder, t.MapsTones, t.optionFiles}
	if storeEntry(path, e) == nil {
		t.kept = path
	}
	return nil
}

// forget drops the kept answer, so that the next Find asks again.
func (t *Tools) forget() {
	if t.kept != "" {
		if dir, err := safefile.Open(filepath.Dir(t.kept)); err == nil {
			dir.Remove(filepath.Base(t.kept))
			dir.Close()
		}
	}
}

var (
	locksGuard sync.Mutex
	locks      = map[string]chan struct{}{}
)

// lockPath lets one caller of this process at a time work on a file of the cache. The
// error is ctx's.
func lockPath(ctx context.Context, path string) (unlock func(), err error) {
	locksGuard.Lock()
	lock, ok := locks[path]
	if !ok {
		lock = make(chan struct{}, 1)
		locks[path] = lock
	}
	locksGuard.Unlock()
	select {
	case lock <- struct{}{}:
		return func() { <-lock }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

func cacheName(programs ...string) string {
	sum := sha256.Sum256(fmt.Appendf(nil, "%q", programs))
	return fmt.Sprintf("%s%x.json", cachePrefix, sum[:8])
}

// loadEntry reads a kept answer that still holds for these programs.
func loadEntry(path string, programs []string) (entry, bool) {
	var e entry
	f, err := reach.Beneath(filepath.Dir(path), filepath.Base(path), cacheBytes)
	if err != nil {
		return e, false
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil || !ownedAlone(info) {
		return e, false
	}
	text, err := io.ReadAll(io.LimitReader(f, cacheBytes))
	if err != nil || json.Unmarshal(text, &e) != nil {
		return e, false
	}
	age := time.Since(e.Asked)
	ok := e.Questions == questions() && slices.Equal(e.Programs, programs) && age >= 0 && age < cacheAge &&
		slices.Contains(encoders, e.Encoder) && shortWord.MatchString(e.Version)
	return e, ok
}

var shortWord = regexp.MustCompile(`^\S{1,200}$`)

// storeEntry writes a kept answer whole or not at all, readable by its owner only.
func storeEntry(path string, e entry) error {
	text, err := json.MarshalIndent(e, "", "\t")
	if err != nil {
		return err
	}
	dir, err := safefile.MakePrivate(filepath.Dir(path))
	if err != nil {
		return err
	}
	defer dir.Close()
	sweep(dir)
	return dir.WritePrivate(filepath.Base(path), append(text, '\n'))
}

// sweep removes answers and unfinished files that are too old to be used.
func sweep(dir *safefile.Folder) {
	all, _ := dir.ReadDir(".")
	for _, file := range all {
		info, err := file.Info()
		ours := strings.HasPrefix(file.Name(), cachePrefix) || safefile.IsLeftover(file.Name())
		if err == nil && ours && info.Mode().IsRegular() && time.Since(info.ModTime()) > cacheAge {
			dir.Remove(file.Name())
		}
	}
}
