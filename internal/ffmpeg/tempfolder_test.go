package ffmpeg

import (
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"testing"

	"pushcue/internal/safefile"
)

func TestFoldersOfKilledRunsAreSwept(t *testing.T) {
	top := t.TempDir()
	if runtime.GOOS == "windows" {
		t.Setenv("TMP", top)
	} else {
		t.Setenv("TMPDIR", top)
	}
	swept.Store(top, true) // below, and not by the first folder made
	alive, done, err := tempFolder()
	if err != nil {
		t.Fatal(err)
	}
	make := func(name string, files ...string) {
		dir := filepath.Join(top, name)
		if err := os.Mkdir(dir, 0o700); err != nil {
			t.Fatal(err)
		}
		for _, file := range files {
			if err := os.WriteFile(filepath.Join(dir, file), nil, 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
	make("pushcue-killed", tempLockName, "captions.ass")
	make("pushcue-notours", "letter.txt")
	make("another-program", tempLockName)
	if err := os.WriteFile(filepath.Join(top, "pushcue-file"), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	want := []string{"another-program", "pushcue-file", "pushcue-notours"}
	if runtime.GOOS != "windows" {
		elsewhere := filepath.Join(t.TempDir(), "elsewhere")
		if err := errors.Join(os.Mkdir(elsewhere, 0o700), os.WriteFile(filepath.Join(elsewhere, tempLockName), nil, 0o600), os.Symlink(elsewhere, filepath.Join(top, "pushcue-link"))); err != nil {
			t.Fatal(err)
		}
		make("pushcue-shared", tempLockName)
		if err := os.Chmod(filepath.Join(top, "pushcue-shared"), 0o777); err != nil {
			t.Fatal(err)
		}
		want = append(want, "pushcue-link", "pushcue-shared")
		defer func() {
			if _, err := os.Stat(filepath.Join(elsewhere, tempLockName)); err != nil {
				t.Errorf("what a link leads to is gone: %v", err)
			}
		}()
	}
	// What stands here for want of a work folder: one in use, and one of a killed run.
	still, err := safefile.TempWithin(filepath.Join(top, "pushcue-file"), filepath.Join(top, "pushcue-file"), "still-")
	if err != nil {
		t.Fatal(err)
	}
	want = append(want, filepath.Base(still.Path()))
	make("pushcue-reading-killed", tempLockName, "strips")
	sweepTemp(top)
	left := func() (names []string) {
		entries, err := os.ReadDir(top)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range entries {
			names = append(names, e.Name())
		}
		return names
	}
	if got, want := left(), slices.Sorted(slices.Values(append(want, filepath.Base(alive.Path())))); !slices.Equal(got, want) {
		t.Errorf("left are %q, want %q", got, want)
	}
	done()
	if err := still.Discard(); err != nil {
		t.Error(err)
	}
	want = slices.DeleteFunc(want, func(name string) bool { return name == filepath.Base(still.Path()) })
	if got := left(); !slices.Equal(got, slices.Sorted(slices.Values(want))) {
		t.Errorf("once the run is over, left are %q", got)
	}
	// The first folder of a start sweeps.
	make("pushcue-killed2", tempLockName)
	swept.Delete(top)
	_, done, err = tempFolder()
	if err != nil {
		t.Fatal(err)
	}
	defer done()
	if slices.Contains(left(), "pushcue-killed2") {
		t.Error("the next start leaves what a killed run left")
	}
}
