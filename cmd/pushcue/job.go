package main

import (
	"io"

	"github.com/urfave/cli/v2"

	"pushcue/internal/job"
)

// jobFlags stand in for a job sheet, or name what isn't where it usually is.
func jobFlags() []cli.Flag {
	return []cli.Flag{
		&cli.StringSliceFlag{Name: "video", Usage: "a part of the recording, `FILE`; repeat it for more parts, in order"},
		&cli.StringFlag{Name: "log", Usage: "the observation log, `FILE`"},
		outsideFlag(),
		&cli.StringFlag{Name: "out", Usage: "write the handover into `DIR` (default: handover in the job folder)"},
		&cli.BoolFlag{Name: "json", Usage: "print one JSON document for programs"},
		&cli.BoolFlag{Name: "quiet", Aliases: []string{"q"}, Usage: "print errors and what was left open only"},
		&cli.BoolFlag{Name: "verbose", Usage: "print more of what is done and why"},
	}
}

func outsideFlag() cli.Flag {
	return &cli.BoolFlag{Name: "outside", Usage: "read what the job names outside its folder too: for job sheets that you trust"}
}

// ask reads what jobFlags and the argument say.
func ask(c *cli.Context) (job.Ask, error) {
	if c.NArg() > 1 {
		return job.Ask{}, &usageError{
			text: "one job at a time: there is a second argument, " + c.Args().Get(1),
			hint: "a name with blanks needs quotes; several jobs of one visit go into a folder with visit.toml",
		}
	}
	a := job.Ask{
		Path: c.Args().First(), Videos: c.StringSlice("video"), Log: c.String("log"), Out: c.String("out"),
		Settings: settingsDir(), Outside: c.Bool("outside"),
	}
	s, err := readSettings()
	if err != nil {
		return a, err
	}
	a.Key = s.WorkKey
	if a.Path == "" && len(a.Videos) == 0 {
		return a, &usageError{
			text: "no job is named",
			hint: "name a job folder, as in: pushcue " + c.Command.Name + " jobs/2291-B; or a recording with --video",
		}
	}
	return a, nil
}

// voice is what a command prints besides its result.
type voice struct {
	json, quiet, verbose bool
	out, errs            io.Writer
}

func voiceOf(c *cli.Context) voice {
	return voice{json: c.Bool("json"), quiet: c.Bool("quiet"), verbose: c.Bool("verbose"), out: c.App.Writer, errs: c.App.ErrWriter}
}

// outcome is the error that stands for a command's exit code once its work is done.
func outcome(open bool) error {
	if open {
		return errOpen
	}
	return nil
}
