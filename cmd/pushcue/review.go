package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/user"
	"path/filepath"
	"sync"
	"time"

	"github.com/urfave/cli/v2"

	"pushcue/internal/desktop"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/job"
	"pushcue/internal/review"
	"pushcue/internal/review/runs"
)

func reviewCommand() *cli.Command {
	return &cli.Command{
		Name:      "review",
		Usage:     "look a job over in a page of this computer's browser, and put it right",
		ArgsUsage: "[JOB]",
		Description: "JOB is a job folder, a visit folder or a job.toml; without one a start page lets you choose." +
			" The page is for this computer alone. What you correct is kept in edits.jsonl at once; the recording, the log" +
			" and the job sheet are only read. End it with Ctrl-C, or close the window.",
		Flags: []cli.Flag{
			&cli.BoolFlag{Name: "no-browser", Usage: "print the address, and leave opening it to you"},
			&cli.IntFlag{Name: "port", Usage: "serve the page on port `N` of this computer; 0: any that is free"},
			outsideFlag(),
			&cli.BoolFlag{Name: "until-closed", Usage: "end by itself three minutes after the last page was closed"},
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
func reviewJob(c *cli.Context, j string) error {
	s, err := readSettings()
	if err != nil {
		return err
	}
	o := review.Options{Settings: settingsDir(), Key: s.WorkKey, Author: c.String("author"), Port: c.Int("port"), Running: runningDir(), Tools: toolsFor, Show: desktop.Open}
	if c.Bool("until-closed") {
		o.Vacant = 3 * time.Minute
	}
	if o.Author == "" {
		o.Author = userName()
	}
	if j != "" {
		o.Ask = job.Ask{Path: j, Settings: o.Settings, Key: o.Key, ToAsk: true, Outside: c.Bool("outside")}
		visit, err := job.Open(c.Context, o.Ask)
		if err != nil {
			return err
		}
		o.Visit = visit
	}
	v := voiceOf(c)
	if o.Visit != nil && o.Running != "" {
		page, err := runs.Find(c.Context, o.Running, o.Visit.Dir)
		if err == nil && page != nil {
			defer page.Close()
			return openAgain(c, v, page)
		}
	}
	var server *review.Server
	ctx, stop := context.WithCancel(c.Context)
	defer stop()
	var opening sync.WaitGroup
	o.Ready = func() {
		if c.Bool("no-browser") {
			fmt.Fprintln(v.out, server.Invite().Address)
		} else {
			fmt.Fprintln(v.out, server.Address())
		}
		if !v.quiet {
			fmt.Fprintln(v.errs, "The page is for this computer alone. Ctrl-C ends it; what you corrected is kept.")
		}
		if !c.Bool("no-browser") {
			invitation := server.Invite()
			opening.Go(func() {
				openPage(ctx, v.errs, invitation.Address, invitation.Used(), desktop.Open)
			})
		}
	}
	server, err = review.Listen(o)
	if err != nil {
		return err
	}
	err = server.Serve(ctx)
	stop()
	opening.Wait()
	if c.Context.Err() != nil && err == nil {
		return errEnded
	}
	return err
}

// openAgain opens a page that another pushcue serves, and ends once a browser shows it.
func openAgain(c *cli.Context, v voice, page *runs.Page) error {
	if !v.quiet {
		fmt.Fprintln(v.errs, "This job's page runs already in another pushcue: it is opened once more.")
	}
	if c.Bool("no-browser") {
		fmt.Fprintln(v.out, page.Address)
		return nil
	}
	used := make(chan struct{})
	go func() {
		page.Wait() // also when the other one ends
		close(used)
	}()
	openPage(c.Context, v.errs, page.Address, used, desktop.Open)
	return nil
}

// How long the browser has before the person is told how to open the page, and how long
// the file that leads there stays in all.
const (
	browserHas = 10 * time.Second
	leadStays  = 2 * time.Minute
)

// openPage has the browser open an address that works once, and returns when it was used
// or is too old. The address is in a file that only this user can read, since every user
// can read the command line that opens the browser.
func openPage(ctx context.Context, errs io.Writer, address string, used <-chan struct{}, open func(context.Context, string) error) {
	lead, err := desktop.NewLead(ctx, address)
	if err != nil {
		fmt.Fprintln(errs, "The browser can't be opened from here. Copy this address into one; it works once, within two minutes:\n"+address)
		return
	}
	defer lead.Remove()
	late, over := time.NewTimer(browserHas), time.NewTimer(leadStays)
	defer late.Stop()
	defer over.Stop()
	told := func() {
		fmt.Fprintln(errs, "The browser hasn't opened the page. Open this file, or copy the address into a browser; it works once, within two minutes:\n"+lead.Path+"\n"+address)
	}
	if err := open(ctx, lead.Path); err != nil && ctx.Err() == nil {
		late.Stop()
		told()
	}
	for {
		select {
		case <-used:
			return
		case <-late.C:
			told()
		case <-over.C:
			return
		case <-ctx.Done():
			return
		}
	}
}

// errEnded is a page ended by its user, which is how it is meant to end.
var errEnded = errors.New("ended by its user")

// runningDir is the user's folder in which programs that serve a page are noted.
func runningDir() string {
	dir, err := os.UserCacheDir()
	if err != nil {
		return ""
	}
	return filepath.Join(dir, "pushcue", "running")
}

// toolsFor looks for ffmpeg, and never among the files of a job.
func toolsFor(ctx context.Context, v *job.Visit) (*ffmpeg.Tools, error) {
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
