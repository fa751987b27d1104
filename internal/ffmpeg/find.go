package ffmpeg

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"

	"pushcue/timeline/words"
)

// Where says where ffmpeg may be. It is never looked for in the current folder
// or in a job folder.
type Where struct {
	Settings string        // ffmpeg, or the folder that holds it and ffprobe, from the user's settings; "" when not set
	Beside   string        // folder of the pushcue program; "": found by itself
	Not      []string      // folders that are never searched, with all below them: the job's
	Cache    string        // folder in which answers are kept; "": always ask. See UserCache
	Patience time.Duration // as Tools.Patience
}

// Find finds ffmpeg and ffprobe, 5.1 or newer, with libass and an H.264 encoder.
// What the settings name must do; elsewhere the first that does is taken. Errors
// are *Error.
func Find(ctx context.Context, w Where) (*Tools, error) {
	tools, err := w.find(ctx)
	if err != nil {
		return nil, err
	}
	tools.Patience = w.Patience
	return tools, nil
}

func (w Where) find(ctx context.Context) (*Tools, error) {
	if w.Settings != "" {
		return w.fromSettings(ctx)
	}
	var first error
	for _, dir := range w.folders() {
		path := filepath.Join(dir, program("ffmpeg"))
		if !isProgram(path) {
			continue
		}
		tools, err := w.examine(ctx, path)
		if err == nil {
			return tools, nil
		}
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if first == nil {
			first = err
		}
	}
	if first != nil {
		return nil, first
	}
	return nil, &Error{Text: words.Tell("ffmpeg isn't installed: it is neither beside pushcue nor on the PATH"), Hint: installHint(), Err: fs.ErrNotExist}
}

func (w Where) fromSettings(ctx context.Context) (*Tools, error) {
	path, err := filepath.Abs(w.Settings)
	if err != nil {
		return nil, err
	}
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		path = filepath.Join(path, program("ffmpeg"))
	}
	if !isProgram(path) {
		return nil, &Error{
			Text: words.Tell("the settings name %s as ffmpeg, and no program is there", w.Settings),
			Hint: words.Tell("put the path of ffmpeg into the settings, or take the line out to have it looked for"),
			Err:  fs.ErrNotExist,
		}
	}
	return w.examine(ctx, path)
}

// examine checks one ffmpeg and the ffprobe that belongs to it.
func (w Where) examine(ctx context.Context, path string) (*Tools, error) {
	probe := ""
	for _, dir := range append([]string{filepath.Dir(path)}, w.folders()...) {
		if p := filepath.Join(dir, program("ffprobe")); isProgram(p) {
			probe = p
			break
		}
	}
	if probe == "" {
		return nil, &Error{Text: words.Tell("ffprobe is missing: it comes with ffmpeg and belongs beside %s", path), Hint: installHint(), Err: fs.ErrNotExist}
	}
	tools := &Tools{FFmpeg: path, FFprobe: probe}
	var err error
	if w.Cache == "" {
		err = tools.check(ctx)
	} else {
		err = tools.cached(ctx, w.Cache)
	}
	if err != nil && ctx.Err() == nil {
		if e := (*Error)(nil); !errors.As(err, &e) {
			err = &Error{Text: words.Tell("%s doesn't run: %s", path, err), Hint: installHint(), Err: err}
		}
	}
	return tools, err
}

// folders are the folders searched, in order.
func (w Where) folders() []string {
	beside := w.Beside
	if beside == "" {
		if self, err := os.Executable(); err == nil {
			if real, err := filepath.EvalSymlinks(self); err == nil {
				self = real
			}
			beside = filepath.Dir(self)
		}
	}
	var not []string
	for _, dir := range w.Not {
		not = append(not, canonical(dir))
	}
	here, _ := os.Getwd()
	var found []string
	for _, dir := range append([]string{beside}, filepath.SplitList(os.Getenv("PATH"))...) {
		if !filepath.IsAbs(dir) { // "" and "." mean the current folder
			continue
		}
		real := canonical(dir)
		if dir != beside && real == canonical(here) {
			continue
		}
		if !slices.ContainsFunc(not, func(n string) bool { return below(real, n) }) && !slices.Contains(found, dir) {
			found = append(found, dir)
		}
	}
	return found
}

// canonical is a folder without links, so that two names of it compare equal.
func canonical(dir string) string {
	if abs, err := filepath.Abs(dir); err == nil {
		dir = abs
	}
	if real, err := filepath.EvalSymlinks(dir); err == nil {
		return real
	}
	return filepath.Clean(dir)
}

func below(path, dir string) bool {
	return path == dir || strings.HasPrefix(path, strings.TrimSuffix(dir, string(filepath.Separator))+string(filepath.Separator))
}

// installHint says how to get ffmpeg here, with a line to paste into a terminal. The lines
// are common practice, from memory.
func installHint() words.Sentence {
	switch runtime.GOOS {
	case "windows":
		return words.Tell("install it with: winget install ffmpeg; or get a full build, 5.1 or newer, from ffmpeg.org/download.html, and put ffmpeg.exe and ffprobe.exe beside pushcue.exe")
	case "darwin":
		return words.Tell("install it with: %s", "brew install ffmpeg")
	}
	for _, m := range []struct{ manager, line string }{
		{"apt", "sudo apt install ffmpeg"}, {"dnf", "sudo dnf install ffmpeg"}, {"pacman", "sudo pacman -S ffmpeg"}, {"zypper", "sudo zypper install ffmpeg"},
	} {
		for _, dir := range []string{"/usr/bin", "/bin"} {
			if isProgram(filepath.Join(dir, m.manager)) {
				return words.Tell("install it with: %s", m.line)
			}
		}
	}
	return words.Tell("install the package ffmpeg, 5.1 or newer, of your system")
}
