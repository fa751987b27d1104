package main

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"pushcue/internal/safefile"
	"pushcue/internal/soak"
)

// swappable are what is exchanged for a link while a handover is being made, and where
// the link leads.
var swappable = []struct{ name, target string }{
	{"part1.mp4", "OUTSIDE/part1.mp4"}, {"handover", "OUTSIDE/handover"}, {"work", "OUTSIDE/notes"}, {"log.csv", "OUTSIDE/log.csv"},
	{"handover/stills", "../photos"}, {"handover", "."}, {"photos", "OUTSIDE/photos"}, {"spoken/1.wav", "OUTSIDE/spoken/1.wav"},
	{"handover/video", "OUTSIDE/handover/video"}, {"work/handover.record", "OUTSIDE/passwd"}, {"job.toml", "OUTSIDE/job.toml"}, {"logo.jpg", "OUTSIDE/logo.jpg"},
	{"handover/clips", ".."}, {"edits.jsonl", "OUTSIDE/edits.jsonl"}, {"handover/log.csv", "OUTSIDE/passwd"}, {"kinds.csv", "OUTSIDE/kinds.csv"},
}

// A moment is reached by so many operations on the disk and lines that are said.
type moment struct {
	mu   sync.Mutex
	n    int
	at   int // -1: never
	then func()
}

func (m *moment) pass() {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.n == m.at {
		m.then()
	}
	m.n++
}

// sayings passes a moment at each line.
type sayings struct {
	oneWriter
	*moment
}

func (s *sayings) Write(p []byte) (int, error) {
	for range bytes.Count(p, []byte("\n")) {
		s.pass()
	}
	return s.oneWriter.Write(p)
}

// making runs make in this process, and calls then at a moment of it. It returns how
// many moments there were.
func (w *hostileWorld) making(at int, then func()) (code, moments int, said string) {
	m := &moment{at: at, then: then}
	undo := safefile.OnEachStep(func(string, string) error { m.pass(); return nil })
	defer undo()
	out := &sayings{moment: m}
	args := []string{"pushcue", "make", w.job}
	if !soak.On() {
		args = append(args, "--quick")
	}
	code = run(w.Context(), args, out, out)
	return code, m.n, out.String()
}

// Somebody exchanges a source or a folder of ours for a link while make is at work, at
// any moment: nothing outside changes, and what is made is right or nothing is.
func TestSwapsDuringAMakeChangeNothingOutside(t *testing.T) {
	t.Setenv("XDG_CONFIG_HOME", t.TempDir())
	moments, swaps, refused := 0, 0, 0
	for i := range soak.Count(5, 42) {
		seed := rand.Uint64()
		c := swappable[i%len(swappable)]
		t.Run(fmt.Sprintf("%s to %s, seed %d", strings.ReplaceAll(c.name, "/", ":"), c.target, seed), func(t *testing.T) {
			w := newHostileWorld(t)
			w.change("log.csv", "roots", "crack") // so that there is something to be made
			if moments == 0 {
				code, all, said := w.making(-1, nil)
				if moments = all; code != exitDone {
					t.Fatalf("%d\n%s", code, said)
				}
				w = newHostileWorld(t)
				w.change("log.csv", "roots", "crack")
			}
			before := w.precious()
			path, aside := w.at(c.name), filepath.Join(t.TempDir(), "aside")
			swapped := false
			code, _, said := w.making(int(seed%uint64(moments)), func() {
				swapped = os.Rename(path, aside) == nil
				if swapped {
					must(t, os.Symlink(w.fill(c.target), path))
				}
			})
			if swapped {
				swaps++
				made, err := os.Lstat(path)
				must(t, err)
				if made.Mode()&os.ModeSymlink == 0 { // ours took the link's place
					must(t, os.RemoveAll(aside))
				} else {
					must(t, errors.Join(os.Remove(path), os.Rename(aside, path)))
				}
			}
			switch {
			case code == exitInput && strings.Contains(said, "hint: "):
				refused++
			case code != exitDone && code != exitOpen:
				t.Errorf("make ended with %d:\n%s", code, said)
			case code == exitOpen && strings.HasPrefix(c.name, "handover/") && strings.Contains(said, c.name[len("handover/"):]):
				// It was taken for somebody else's file, left out of the list of sums, and named.
			default:
				if code, said := runHere("verify", w.job); code != exitDone {
					t.Errorf("what was made isn't right: %d\n%s", code, said)
				}
			}
			if strings.Contains(said, canary) {
				t.Errorf("a file outside is quoted:\n%s", said)
			}
			if names := changed(before, w.precious()); len(names) > 0 {
				t.Errorf("%q changed:\n%s", names, said)
			}
			if names := w.quoted(); len(names) > 0 {
				t.Errorf("what lies outside is in %q:\n%s", names, said)
			}
			if !soak.On() {
				return
			}
			if code, said := runHere("make", w.job); code != exitDone && code != exitOpen {
				t.Errorf("the next make ended with %d:\n%s", code, said)
			}
			if code, said := runHere("verify", w.job); code != exitDone {
				t.Errorf("what the next make made isn't right: %d\n%s", code, said)
			}
		})
	}
	t.Logf("%d swaps at %d moments, %d refused", swaps, moments, refused)
}
