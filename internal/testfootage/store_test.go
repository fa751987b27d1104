package testfootage

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

var few = Spec{Frames: 3, Width: 64, Height: 48, Codec: "mpeg4"}

// ownStore is a store that holds nothing yet.
func ownStore(t *testing.T) string {
	t.Helper()
	base := t.TempDir()
	t.Setenv("PUSHCUE_TEST_FOOTAGE", base)
	return base
}

func TestOneRecordingIsMadeOnceWhoeverAsks(t *testing.T) {
	ownStore(t)
	var got [4]os.FileInfo
	var all sync.WaitGroup
	for i := range got {
		all.Go(func() {
			path, err := Make(context.Background(), few)
			if err == nil {
				got[i], err = os.Stat(path)
			}
			if err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	for _, info := range got {
		if !os.SameFile(info, got[0]) {
			t.Error("it was made more than once")
		}
	}
}

func TestARecordingThatWasWrittenToIsMadeAnew(t *testing.T) {
	ownStore(t)
	linked := filepath.Join(t.TempDir(), "job", "part1.mp4")
	Link(t, few, linked)
	want := read(t, linked)
	for what, spoil := range map[string]func(path string) error{
		"cut off":  func(path string) error { return os.Truncate(path, 100) },
		"closed":   func(path string) error { return os.Chmod(path, 0) },
		"gone":     os.Remove,
		"replaced": func(path string) error { return os.WriteFile(path, []byte(strings.ToUpper(want)), 0o644) },
	} {
		path := Numbered(t, few)
		_ = os.Chmod(path, 0o644)
		if err := spoil(path); err != nil {
			t.Fatal(err)
		}
		if got := read(t, Numbered(t, few)); got != want {
			t.Errorf("%s: %d bytes are handed out, want %d", what, len(got), len(want))
		}
	}
}

func TestWhatARunThatWasKilledLeftIsNoObstacle(t *testing.T) {
	base := ownStore(t)
	Numbered(t, few)
	made, err := filepath.Glob(filepath.Join(base, "*", "recording.mp4"))
	if err != nil || len(made) != 1 {
		t.Fatal(made, err)
	}
	left := filepath.Join(filepath.Dir(made[0])+".making", "recording.mp4")
	if err := os.RemoveAll(filepath.Dir(made[0])); err != nil {
		t.Fatal(err)
	}
	if err := os.MkdirAll(filepath.Dir(left), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(left, []byte("half"), 0o644); err != nil {
		t.Fatal(err)
	}
	Numbered(t, few)
	if _, err := os.Stat(filepath.Dir(left)); err == nil {
		t.Error("it still lies there")
	}
}

func TestOnlyWhatIsOursAndUnusedIsTidiedAway(t *testing.T) {
	base := ownStore(t)
	now := time.Now()
	long, lately := now.Add(-unused-time.Hour), now.Add(-unused+time.Hour)
	id := strings.Repeat("0123456789", 2)
	for name, c := range map[string]struct {
		used time.Time
		note bool
		stay bool
	}{
		"a" + id[1:]:             {long, true, false},
		"b" + id[1:]:             {lately, true, true},
		"c" + id[1:]:             {long, false, false}, // an earlier edition kept no note
		"d" + id[1:]:             {lately, false, true},
		"e" + id[1:] + ".making": {long, false, false},
		"making-123456":          {long, false, false},
		"holiday":                {long, false, true},
		id + "0":                 {long, true, true},
	} {
		folder := filepath.Join(base, name)
		if err := os.Mkdir(folder, 0o755); err != nil {
			t.Fatal(err)
		}
		if c.note {
			if err := os.WriteFile(filepath.Join(folder, "made"), nil, 0o644); err != nil {
				t.Fatal(err)
			}
			if err := os.Chtimes(filepath.Join(folder, "made"), c.used, c.used); err != nil {
				t.Fatal(err)
			}
		} else if err := os.Chtimes(folder, c.used, c.used); err != nil {
			t.Fatal(err)
		}
		defer func() {
			if _, err := os.Stat(folder); (err == nil) != c.stay {
				t.Errorf("%s: stays %v, want %v", name, err == nil, c.stay)
			}
		}()
	}
	tidy(base, now)
}

func TestWhatCantBeMadeIsTriedAgain(t *testing.T) {
	base := ownStore(t)
	no := errors.New("no")
	if _, err := keep("film.avi", "a", func(string) error { return no }); err != no {
		t.Errorf("got %v", err)
	}
	if left, _ := filepath.Glob(filepath.Join(base, "[^l]*")); len(left) > 0 {
		t.Errorf("left: %q", left)
	}
	fill := func(text string) func(string) error {
		return func(path string) error { return os.WriteFile(path, []byte(text), 0o644) }
	}
	for _, c := range [][3]string{{"a", "one", "one"}, {"a", "two", "one"}, {"b", "two", "two"}} {
		if got := read(t, Kept(t, "film.avi", c[0], fill(c[1]))); got != c[2] {
			t.Errorf("%s is %q, want %q", c[0], got, c[2])
		}
	}
}

// A recording that is asked for now and then stays, however long ago it was made.
func TestAUseIsNoted(t *testing.T) {
	base := ownStore(t)
	path := Numbered(t, few)
	long := time.Now().Add(-2 * unused)
	if err := os.Chtimes(filepath.Join(filepath.Dir(path), "made"), long, long); err != nil {
		t.Fatal(err)
	}
	Numbered(t, few)
	tidy(base, time.Now())
	if _, err := os.Stat(path); err != nil {
		t.Errorf("it was tidied away: %v", err)
	}
}

func read(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}
