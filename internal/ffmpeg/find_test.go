package ffmpeg

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestVersions(t *testing.T) {
	const young, old = "\nlibavutil      57. 28.100 / 57. 28.100\n", "\nlibavutil      56. 70.100 / 56. 70.100\n"
	for _, test := range []struct {
		text      string
		version   string
		fresh, ok bool
	}{
		{"ffmpeg version 5.1.9-0+deb12u1 Copyright (c) 2000-2026" + young, "5.1.9-0+deb12u1", true, true},
		{"ffmpeg version 5.1 Copyright" + young, "5.1", true, true},
		{"ffmpeg version n6.1 Copyright" + young, "n6.1", true, true},
		{"ffmpeg version 10.0.1-tessus Copyright" + young, "10.0.1-tessus", true, true},
		{"ffmpeg version 5.0.3 Copyright" + young, "5.0.3", false, true},
		{"ffmpeg version 4.4.2-0ubuntu0.22.04.1 Copyright" + old, "4.4.2-0ubuntu0.22.04.1", false, true},
		{"ffmpeg version N-109542-gfd50d5b Copyright" + young, "N-109542-gfd50d5b", true, true},
		{"ffmpeg version N-100000-g1234567 Copyright" + old, "N-100000-g1234567", false, true},
		{"ffmpeg version 2026-01-01-git-abcdef-full_build Copyright" + young, "2026-01-01-git-abcdef-full_build", true, true},
		{"ffmpeg version git-2019-08-01-abcdef Copyright" + old, "git-2019-08-01-abcdef", false, true},
		{"ffprobe version 7.0.2 Copyright\r\nbuilt with" + young, "7.0.2", true, true},
		{"ffmpeg version strange", "strange", false, true},
		{"something else 9.9", "", false, false},
		{"", "", false, false},
	} {
		version, fresh, ok := parseVersion(test.text)
		if version != test.version || fresh != test.fresh || ok != test.ok {
			t.Errorf("%q: %q, fresh %v, ok %v", test.text, version, fresh, ok)
		}
	}
}

// alone hides this computer's own ffmpeg.
func alone(t *testing.T, path ...string) {
	t.Setenv("PATH", strings.Join(path, string(os.PathListSeparator)))
}

func TestFindLooksInTheRightPlaces(t *testing.T) {
	_, dir := fakeTools(t, "")
	nowhere := t.TempDir()
	ffmpeg := filepath.Join(dir, program("ffmpeg"))
	for name, w := range map[string]Where{
		"settings name the program": {Settings: ffmpeg, Beside: nowhere},
		"settings name the folder":  {Settings: dir, Beside: nowhere},
		"beside pushcue":            {Beside: dir},
	} {
		alone(t)
		if tools, err := Find(t.Context(), w); err != nil || tools.FFmpeg != ffmpeg || tools.Version != "6.1.1" || tools.Encoder != "libx264" {
			t.Errorf("%s: %+v, %v", name, tools, err)
		}
	}
	alone(t, nowhere, dir)
	if tools, err := Find(t.Context(), Where{Beside: nowhere}); err != nil || tools.FFmpeg != ffmpeg {
		t.Errorf("on the PATH: %+v, %v", tools, err)
	}
}

func TestFindNeverRunsWhatLiesInAJob(t *testing.T) {
	_, dir := fakeTools(t, "")
	alone(t, dir, "", ".")
	t.Chdir(dir)
	if tools, err := Find(t.Context(), Where{Beside: t.TempDir()}); err == nil {
		t.Errorf("in the current folder: %+v was taken", tools)
	}
	t.Chdir(t.TempDir())
	if tools, err := Find(t.Context(), Where{Beside: t.TempDir(), Not: []string{filepath.Dir(dir)}}); err == nil {
		t.Errorf("below the job folder: %+v was taken", tools)
	}
	if _, err := Find(t.Context(), Where{Beside: t.TempDir()}); err != nil {
		t.Errorf("a folder on the PATH wasn't searched: %v", err)
	}
}

func TestUnfitToolsAreNamedWithWhatToDo(t *testing.T) {
	for _, test := range []struct{ fake, version, want string }{
		{"", "ffmpeg version 4.4.2 Copyright\n", "is version 4.4.2: 5.1 or newer is needed"},
		{"", "hello\n", "doesn't answer as ffmpeg does"},
		{"no ass", "", "without the filter ass (libass)"},
		{"no bwdif", "", "without the filter bwdif"},
		{"no encoder", "", "no H.264 encoder"},
	} {
		_, dir := fakeTools(t, test.fake)
		t.Setenv("PUSHCUE_FAKE_VERSION", test.version)
		alone(t)
		_, err := Find(t.Context(), Where{Beside: dir})
		var e *Error
		if !errors.As(err, &e) || !strings.Contains(e.Text.String(), test.want) || e.Hint.Empty() {
			t.Errorf("%s %q: got %v", test.fake, test.version, err)
		}
	}
	alone(t)
	empty := t.TempDir()
	for name, w := range map[string]Where{"nowhere": {Beside: empty}, "wrong settings": {Settings: filepath.Join(empty, "x"), Beside: empty}} {
		_, err := Find(t.Context(), w)
		var e *Error
		if !errors.As(err, &e) || e.Hint.Empty() {
			t.Errorf("%s: got %v", name, err)
		}
	}
	_, dir := fakeTools(t, "")
	if err := os.Remove(filepath.Join(dir, program("ffprobe"))); err != nil {
		t.Fatal(err)
	}
	if _, err := Find(t.Context(), Where{Beside: dir}); err == nil || !strings.Contains(err.Error(), "ffprobe is missing") {
		t.Errorf("without ffprobe: %v", err)
	}
}

func TestAnUnfitOneIsPassedByForAFitOne(t *testing.T) {
	_, fit := fakeTools(t, "")
	unfit := t.TempDir()
	if err := os.WriteFile(filepath.Join(unfit, program("ffmpeg")), []byte("#!/bin/sh\nexit 3\n"), 0o700); err != nil {
		t.Fatal(err)
	}
	alone(t, unfit, fit)
	if tools, err := Find(t.Context(), Where{Beside: t.TempDir()}); err != nil || filepath.Dir(tools.FFmpeg) != fit {
		t.Errorf("%+v, %v", tools, err)
	}
}
