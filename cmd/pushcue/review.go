package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/user"

	"github.com/urfave/cli/v2"

	"pushcue/internal/desktop"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/handover"
	"pushcue/internal/review"
)

func reviewCommand() *cli.Command {
	return &cli.Command{
		Name:      "review",
		Usage:     "look a job over in a page of this computer's browser, and put it right",
		ArgsUsage: "[JOB]",
		Description: "JOB is a job folder, a visit folder or a job.toml; without one a start page lets you choose." +
			" The page is for this computer alone. What you correct is kept in edits.jsonl at once; the recording, the log" +
			" and the job sheet are only read. End it with Ctrl-C, or close the window." + exitStatus,
		Flags: []cli.Flag{
			&cli.BoolFlag{Name: "no-browser", Usage: "print the address, and leave opening it to you"},
			&cli.IntFlag{Name: "port", Usage: "serve the page on port `N` of this computer; 0: any that is free"},
			outsideFlag(),
			&cli.StringFlag{Name: "author", Usage: "sign corrections with `NAME` (default: your name on this computer)"},
			&cli.BoolFlag{Name: "quiet", Aliases: []string{"q"}, Usage: "print the address only"},
		},
		Action: func(c *cli.Context) error {
			if c.NArg() > 1 {
				return &usageError{text: "one job at a time: there is a second argument, " + c.Args().Get(1), hint: "a name with blanks needs quotes"}
			}
			if p := c.Int("port"); p < 0 || p > 65535 {
				return &usageError{text: fmt.Sprintf("there is no port %d", p), hint: "ports go up to 65535; 0 takes any that is free"}
			}
			if c.Bool("outside") && c.NArg() == 0 {
				return &usageError{text: "--outside is for one job, and none is named", hint: "name it, as in: pushcue review --outside jobs/2291-B"}
			}
			return reviewJob(c, c.Args().First())
		},
	}
}

// reviewJob serves the page until the program is interrupted. job may be "".
func reviewJob(c *cli.Context, job string) error {
	o := review.Options{Settings: settingsDir(), Author: c.String("author"), Port: c.Int("port"), Tools: toolsFor, Show: desktop.Open}
	if o.Author == "" {
		o.Author = userName()
	}
	if job != "" {
		o.Ask = handover.Ask{Path: job, Settings: o.Settings, ToAsk: true, Outside: c.Bool("outside")}
		visit, err := handover.Open(c.Context, o.Ask)
		if err != nil {
			return err
		}
		o.Visit = visit
	}
	server, err := review.Listen(o)
	if err != nil {
		return err
	}
	v := voiceOf(c)
	fmt.Fprintln(v.out, server.Address())
	if !v.quiet {
		fmt.Fprintln(v.errs, "The page is for this computer alone. Ctrl-C ends it; what you corrected is kept.")
	}
	if !c.Bool("no-browser") {
		go func() {
			if err := desktop.Open(c.Context, server.Address()); err != nil && c.Context.Err() == nil {
				fmt.Fprintln(v.errs, "The browser can't be opened from here: copy the address above into one.")
			}
		}()
	}
	err = server.Serve(c.Context)
	if c.Context.Err() != nil && err == nil {
		return errEnded
	}
	return err
}

// errEnded is a page ended by its user, which is how it is meant to end.
var errEnded = errors.New("ended by its user")

// toolsFor looks for ffmpeg, and never among the files of a job.
func toolsFor(ctx context.Context, v *handover.Visit) (*ffmpeg.Tools, error) {
	s, err := readSettings()
	if err != nil {
		return nil, err
	}
	not := []string{v.Dir, v.Out}
	for _, j := range v.Jobs {
		not = append(not, j.Dir)
	}
	return ffmpeg.Find(ctx, ffmpeg.Where{Settings: s.FFmpeg, Not: not, Cache: ffmpeg.UserCache(), Patience: s.patience})
}

// userName is who uses this computer, as far as it tells.
func userName() string {
	if u, err := user.Current(); err == nil {
		if u.Name != "" {
			return u.Name
		}
		return u.Username
	}
	return os.Getenv("USER")
}
