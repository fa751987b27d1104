package main

import (
	"path/filepath"
	"testing"
)

func TestPathsAreShortened(t *testing.T) {
	home := t.TempDir()
	t.Setenv("HOME", home)
	t.Setenv("USERPROFILE", home)
	for path, want := range map[string]string{
		"": "none",
		filepath.Join(home, ".config", "pushcue"):                       "~/.config/pushcue",
		filepath.Join(home, "jobs", "Mrs Example", "x", "y", "ffmpeg"):  "~/…/y/ffmpeg",
		filepath.FromSlash("/usr/bin/ffmpeg"):                           "/usr/bin/ffmpeg",
		filepath.FromSlash("/srv/Mrs Example/kitchen/tools/bin/ffmpeg"): "…/bin/ffmpeg",
	} {
		if got := shortened(path); got != want {
			t.Errorf("%s is shortened to %s, want %s", path, got, want)
		}
	}
}
