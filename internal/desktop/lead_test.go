package desktop

import (
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
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
