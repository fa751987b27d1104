package main

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"time"
	_ "time/tzdata" // zones for computers that hold none

	"github.com/pelletier/go-toml/v2"
	"github.com/urfave/cli/v2"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/job"
	"pushcue/internal/reach"
	"pushcue/timeline/fault"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// settings is what a user sets once: settings.toml beside firm.toml in the
// user's settings folder.
type settings struct {
	FFmpeg   string `toml:"ffmpeg"`   // the program, or the folder that holds it and ffprobe
	Patience string `toml:"patience"` // how long ffmpeg may show no sign of life: "2m"
	WorkKey  string `toml:"work_key"` // whole path of the key of what is kept in work folders, where not work.key here

	patience time.Duration // as parsed; 0 where nothing is set
}

// Bounds of patience: less would give up on a drive that wakes up, more is no giving up.
const leastPatience, mostPatience = 10 * time.Second, 24 * time.Hour

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
	return settingsFrom(filepath.Join(settingsDir(), "settings.toml"))
}

func settingsFrom(path string) (s settings, err error) {
	text, err := reach.Read(path, 64<<10)
	if errors.Is(err, fs.ErrNotExist) {
		return s, nil
	}
	if err != nil {
		return s, fault.Of(fault.Fault{File: path, Text: words.Tell("the settings can't be read: %s", err), Hint: words.Tell("check the file, or delete it")})
	}
	if err := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields().Decode(&s); err != nil {
		return s, fault.Of(fault.Fault{File: path, Text: words.Tell("the settings can't be understood: %s", err), Hint: words.Tell(`the settings are ffmpeg = "path of ffmpeg", patience = "2m" and work_key = "path of a file"`)})
	}
	if s.WorkKey != "" && !filepath.IsAbs(s.WorkKey) {
		return s, fault.Of(fault.Fault{File: path, Column: "work_key", Value: s.WorkKey, Text: words.Tell("this isn't a whole path"), Hint: words.Tell("write the path of the file that your computers share, from the top of its drive on")})
	}
	if s.Patience == "" {
		return s, nil
	}
	s.patience, err = timecode.ParseSpan(s.Patience)
	if err == nil && (s.patience < leastPatience || s.patience > mostPatience) {
		err = words.Errorf("from %s to %s is possible here", timecode.FormatSpan(leastPatience), timecode.FormatSpan(mostPatience))
	}
	if err != nil {
		return s, fault.Of(fault.Fault{File: path, Column: "patience", Value: s.Patience, Text: words.Of(err), Hint: words.Tell(`write it as patience = "2m", or take the line out`)})
	}
	return s, nil
}

// findTools looks for ffmpeg before any work starts, and never among the files of a job.
func findTools(c *cli.Context, v *job.Visit) (*ffmpeg.Tools, error) {
	return toolsFor(c.Context, v)
}
