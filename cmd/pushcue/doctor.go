package main

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"github.com/urfave/cli/v2"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/handover/drive"
)

func doctorCommand() *cli.Command {
	return &cli.Command{
		Name:  "doctor",
		Usage: "print what this computer gives pushcue to work with: what to send when asking for help",
		Description: "It looks at no job, and shortens paths, so that what it prints holds nothing of a customer." +
			" It ends with 5 when ffmpeg is missing or unfit.",
		Action: func(c *cli.Context) error {
			if c.NArg() > 0 {
				return &usageError{text: "doctor takes no argument", hint: "run: pushcue doctor"}
			}
			return examine(c)
		},
	}
}

func examine(c *cli.Context) error {
	say := func(what, form string, values ...any) {
		fmt.Fprintf(c.App.Writer, "%-10s %s\n", what, fmt.Sprintf(form, values...))
	}
	say("pushcue", "%s, %s, %s/%s, %d processors", version, runtime.Version(), runtime.GOOS, runtime.GOARCH, runtime.NumCPU())
	zone, offset := time.Now().Zone()
	say("time zone", "%s, now %s (%+.1f h)", time.Local, zone, float64(offset)/3600)
	say("settings", "%s (%s)", shortened(settingsDir()), presence(settingsDir(), "settings.toml", "firm.toml", "work.key"))
	say("cache", "%s", shortened(ffmpeg.UserCache()))
	say("fonts", "DejaVu Sans, within the program")
	if home, err := os.UserHomeDir(); err == nil {
		if free, err := drive.Free(home); err == nil {
			say("disk", "%.1f GB free where the home folder is", float64(free)/1e9)
		}
	}
	s, err := readSettings()
	if err != nil {
		return err
	}
	tools, err := ffmpeg.Find(c.Context, ffmpeg.Where{Settings: s.FFmpeg})
	if err != nil {
		say("ffmpeg", "none that can be used")
		return err
	}
	say("ffmpeg", "%s, %s, makes H.264 with %s", tools.Version, shortened(tools.FFmpeg), tools.Encoder)
	say("ffprobe", "%s", shortened(tools.FFprobe))
	say("HDR", "%s", map[bool]string{true: "can be shown as on an ordinary screen", false: "colours are left as they are: this ffmpeg can't change them"}[tools.MapsTones])
	if err := tools.Check(c.Context); err != nil {
		return err
	}
	say("check", "ffmpeg and ffprobe read a small recording that is known to be good")
	return nil
}

// shortened is a path that names neither the user nor folders of a customer: from the home
// folder on, or its last two parts.
func shortened(path string) string {
	if path == "" {
		return "none"
	}
	if home, err := os.UserHomeDir(); err == nil {
		if rest, err := filepath.Rel(home, path); err == nil && filepath.IsLocal(rest) {
			parts := strings.Split(filepath.ToSlash(rest), "/")
			if len(parts) > 4 {
				return "~/…/" + strings.Join(parts[len(parts)-2:], "/")
			}
			return "~/" + strings.Join(parts, "/")
		}
	}
	parts := strings.Split(filepath.ToSlash(path), "/")
	if len(parts) > 4 {
		return "…/" + strings.Join(parts[len(parts)-2:], "/")
	}
	return strings.Join(parts, "/")
}

// presence says which of names are files in a folder.
func presence(dir string, names ...string) string {
	var found []string
	for _, name := range names {
		if info, err := os.Lstat(filepath.Join(dir, name)); err == nil && info.Mode().IsRegular() {
			found = append(found, name)
		}
	}
	if len(found) == 0 {
		return "nothing in it"
	}
	return strings.Join(found, ", ")
}
