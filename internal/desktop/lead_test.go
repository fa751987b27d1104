package desktop

import (
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"pushcue/internal/safefile"
)

func TestALeadIsThisUsersAloneAndGoes(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("Windows keeps a user's folders from others by itself")
	}
	home := t.TempDir()
	t.Setenv("HOME", home)
	t.Setenv("XDG_CONFIG_HOME", "")
	t.Setenv("XDG_CACHE_HOME", "")
	if err := os.Mkdir(filepath.Join(home, "Downloads"), 0o755); err != nil {
		t.Fatal(err)
	}
	const address = "http://127.0.0.1:8080/#enter=SECRET"
	lead, err := NewLead(t.Context(), address)
	if err != nil {
		t.Fatal(err)
	}
	defer lead.Remove()
	if _, args := opener(lead.Path); strings.Contains(strings.Join(args, " "), "SECRET") {
		t.Errorf("the command line holds the secret: %q", args)
	}
	text, err := os.ReadFile(lead.Path)
	if err != nil || !strings.Contains(string(text), `content="0; url=`+address+`"`) {
		t.Errorf("%s %v", text, err)
	}
	for path, want := range map[string]os.FileMode{lead.Path: 0o600, filepath.Dir(lead.Path): 0o700} {
		if info, err := os.Stat(path); err != nil || info.Mode().Perm() != want {
			t.Errorf("%s: %v %v", path, info.Mode(), err)
		}
	}
	if runtime.GOOS == "linux" && !strings.HasPrefix(lead.Path, filepath.Join(home, "Downloads", "pushcue-open-")) {
		t.Errorf("a browser in a sandbox can't read %s", lead.Path)
	}
	lead.Remove()
	if _, err := os.Stat(filepath.Dir(lead.Path)); !os.IsNotExist(err) {
		t.Error("it stays", err)
	}
	if _, err := NewLead(t.Context(), "http://example.org/"); err == nil {
		t.Error("it leads to another computer")
	}
}

func TestLeadsOfKilledProgramsGo(t *testing.T) {
	place := t.TempDir()
	long := time.Now().Add(-leadLasts - time.Minute)
	lay := func(name, file string, when time.Time) {
		dir := filepath.Join(place, name)
		if err := os.Mkdir(dir, 0o700); err != nil {
			t.Fatal(err)
		}
		if file != "" {
			if err := os.WriteFile(filepath.Join(dir, file), nil, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		if err := os.Chtimes(dir, when, when); err != nil {
			t.Fatal(err)
		}
	}
	lay("pushcue-open-0123456789abcdef", leadFile, long)
	lay("pushcue-open-0000000000000000", "", long)
	lay("pushcue-open-1111111111111111", leadFile, time.Now()) // may still be fetched
	lay("pushcue-open-2222222222222222", "letter.txt", long)   // somebody put something there
	lay("pushcue-open-notes", leadFile, long)                  // no name of ours
	lay("Downloads", leadFile, long)
	want := []string{"Downloads", "pushcue-open-1111111111111111", "pushcue-open-2222222222222222", "pushcue-open-notes"}
	if runtime.GOOS != "windows" {
		elsewhere := t.TempDir()
		if err := os.WriteFile(filepath.Join(elsewhere, leadFile), nil, 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.Symlink(elsewhere, filepath.Join(place, "pushcue-open-3333333333333333")); err != nil {
			t.Fatal(err)
		}
		defer func() {
			if _, err := os.Stat(filepath.Join(elsewhere, leadFile)); err != nil {
				t.Errorf("what a link leads to was removed: %v", err)
			}
		}()
		want = []string{"Downloads", "pushcue-open-1111111111111111", "pushcue-open-2222222222222222", "pushcue-open-3333333333333333", "pushcue-open-notes"}
	}
	folder, err := safefile.Open(place)
	if err != nil {
		t.Fatal(err)
	}
	defer folder.Close()
	sweepLeads(t.Context(), folder)
	entries, err := os.ReadDir(place)
	if err != nil {
		t.Fatal(err)
	}
	var left []string
	for _, e := range entries {
		left = append(left, e.Name())
	}
	if !slices.Equal(left, want) {
		t.Errorf("left are %q, want %q", left, want)
	}
	if _, err := os.Stat(filepath.Join(place, "pushcue-open-2222222222222222", "letter.txt")); err != nil {
		t.Errorf("somebody's file was removed: %v", err)
	}
}
