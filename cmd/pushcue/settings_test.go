package main

import (
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pushcue/timeline/fault"
)

func TestSettings(t *testing.T) {
	for text, want := range map[string]struct {
		patience time.Duration
		wrong    string // in the fault; "" for none
	}{
		"":                                 {},
		"ffmpeg = \"/opt/ffmpeg\"\n":       {},
		"work_key = \"/mnt/office/key\"\n": {},
		"work_key = \"office/key\"\n":      {wrong: "this isn't a whole path"},
		"patience = \"3m\"\n":              {patience: 3 * time.Minute},
		"patience = \"90 s\"\n":            {patience: 90 * time.Second},
		"patience = \"5 s\"\n":             {wrong: "from 10s to 24h is possible here"},
		"patience = \"-2m\"\n":             {wrong: "from 10s to 24h is possible here"},
		"patience = \"2\"\n":               {wrong: "a number without a unit"},
		"patience = 120\n":                 {wrong: "can't be understood"},
		"patiance = \"2m\"\n":              {wrong: "can't be understood"},
		strings.Repeat("# x\n", 20<<10):    {wrong: "larger than 64 KB"},
	} {
		path := filepath.Join(t.TempDir(), "settings.toml")
		writeTo(t, path, text)
		s, err := settingsFrom(path)
		list, _ := fault.In(err)
		switch {
		case want.wrong == "" && (err != nil || s.patience != want.patience):
			t.Errorf("%.30q: %v, %v", text, s.patience, err)
		case want.wrong != "" && (len(list) != 1 || !strings.Contains(list.Error(), want.wrong) || list[0].Hint.Empty()):
			t.Errorf("%.30q: %v", text, err)
		}
	}
	if s, err := settingsFrom(filepath.Join(t.TempDir(), "settings.toml")); err != nil || s.patience != 0 {
		t.Errorf("without settings: %v", err)
	}
}
