package main

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"time"

	"github.com/urfave/cli/v2"

	"pushcue/internal/safefile"
	"pushcue/timeline/jobsheet"
)

func newCommand() *cli.Command {
	return &cli.Command{
		Name:        "new",
		Usage:       "make a job folder with a job sheet to fill in",
		ArgsUsage:   "DIR",
		Description: "Nothing that exists is overwritten.",
		Flags: []cli.Flag{
			&cli.BoolFlag{Name: "json", Usage: "print one JSON document for programs"},
			&cli.BoolFlag{Name: "quiet", Aliases: []string{"q"}, Usage: "print errors only"},
		},
		Action: func(c *cli.Context) error {
			if c.NArg() != 1 {
				return &usageError{text: "new takes one folder", hint: "for example: pushcue new jobs/2291-B"}
			}
			return newJob(c.Args().First(), voiceOf(c))
		},
	}
}

func newJob(dir string, v voice) error {
	sheet := filepath.Join(dir, "job.toml")
	folder, err := safefile.Make(dir)
	if err != nil {
		return &usageError{text: "the folder can't be made: " + err.Error(), hint: "choose a place that you may write to"}
	}
	defer folder.Close()
	err = folder.CreateNew("job.toml", jobsheet.Template(jobsheet.Start{Zone: time.Local.String()}))
	if errors.Is(err, fs.ErrExist) {
		return &usageError{text: sheet + " is there already", hint: "open it, or choose another folder"}
	}
	if err != nil {
		return &usageError{text: sheet + " can't be written: " + err.Error(), hint: "choose a place that you may write to"}
	}
	if v.json {
		return writeJSON(v.out, map[string]string{"job": dir, "sheet": sheet})
	}
	if !v.quiet {
		fmt.Fprintf(v.out, "%s is ready. Next:\n"+
			"  1. put the recording and the log (log.csv or log.xlsx) into %s\n"+
			"  2. fill in %s\n"+
			"  3. pushcue check %s\n", dir, dir, sheet, quoted(dir))
	}
	return nil
}

// quoted is a folder's name as it can be typed again.
func quoted(name string) string {
	for _, r := range name {
		if r == ' ' || r == '\'' || r == '"' || r == '&' || r == '(' {
			return fmt.Sprintf("%q", name)
		}
	}
	return name
}
