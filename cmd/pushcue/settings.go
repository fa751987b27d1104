package main

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	_ "time/tzdata" // zones for computers that hold none

	"github.com/pelletier/go-toml/v2"
	"github.com/urfave/cli/v2"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/handover"
	"pushcue/internal/reach"
	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// settings is what a user sets once: settings.toml beside firm.toml in the
// user's settings folder.
type settings struct {
	FFmpeg string `toml:"ffmpeg"` // the program, or the folder that holds it and ffprobe
}

// settingsDir is the user's settings folder; "" where the system knows none.
func settingsDir() string {
	dir, err := os.UserConfigDir()
	if err != nil {
		return ""
	}
	return filepath.Join(dir, "pushcue")
}

func readSettings() (settings, error) {
	var s settings
	if settingsDir() == "" {
		return s, nil
	}
	path := filepath.Join(settingsDir(), "settings.toml")
	text, err := reach.Read(path, 64<<10)
	if errors.Is(err, fs.ErrNotExist) {
		return s, nil
	}
	if err != nil {
		return s, fault.Of(fault.Fault{File: path, Text: words.Tell("the settings can't be read: %s", err), Hint: words.Tell("check the file, or delete it")})
	}
	if err := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields().Decode(&s); err != nil {
		return s, fault.Of(fault.Fault{File: path, Text: words.Tell("the settings can't be understood: %s", err), Hint: words.Tell(`the only setting is ffmpeg = "path of ffmpeg"`)})
	}
	return s, nil
}

// findTools looks for ffmpeg before any work starts, and never among the files of a job.
func findTools(c *cli.Context, v *handover.Visit) (*ffmpeg.Tools, error) {
	return toolsFor(c.Context, v)
}
