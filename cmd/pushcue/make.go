package main

import (
	"fmt"
	"strings"

	"github.com/urfave/cli/v2"

	"pushcue/internal/handover"
	"pushcue/internal/job"
	"pushcue/timeline"
	"pushcue/timeline/codes"
)

func makeCommand() *cli.Command {
	kinds := strings.Join(handover.Kinds, ", ")
	return &cli.Command{
		Name:      "make",
		Usage:     "make the handover folder: captioned video, stills, clips, sidecar notes, aligned log",
		ArgsUsage: "JOB",
		Description: "JOB is a job folder, a visit folder or a job.toml. The recording and the log are only read." +
			" What is unchanged since an earlier run is kept; a run that was interrupted goes on where it stopped.",
		Flags: append(jobFlags(),
			&cli.StringFlag{Name: "only", Usage: "make these `KINDS` only: " + kinds},
			&cli.StringFlag{Name: "skip", Usage: "don't make these `KINDS`"},
			&cli.BoolFlag{Name: "quick", Usage: "burn nothing: no captioned video, no clips"},
			&cli.StringFlag{Name: "for", Usage: "`WHO` it is for: buyer leaves out the customer's contact data"},
		),
		Action: func(c *cli.Context) error {
			a, err := ask(c)
			if err != nil {
				return err
			}
			return makeHandover(c, a, handover.Options{
				Only: list(c.String("only")), Skip: list(c.String("skip")), Quick: c.Bool("quick"), For: c.String("for"),
			}, voiceOf(c))
		},
	}
}

func list(s string) []string {
	return strings.FieldsFunc(s, func(r rune) bool { return r == ',' || r == ' ' })
}

func makeHandover(c *cli.Context, a job.Ask, o handover.Options, v voice) error {
	if err := o.Check(); err != nil {
		return err
	}
	a.For = o.For
	visit, err := job.Open(c.Context, a)
	if err != nil {
		return err
	}
	tools, err := findTools(c, visit)
	if err != nil {
		return err
	}
	progress := newProgress(c.Context, v)
	result, err := handover.Make(c.Context, tools, visit, o, progress)
	progress.end(err == nil)
	if err != nil {
		return err
	}
	if err := tell(result, v); err != nil {
		return err
	}
	return outcome(result.Open())
}

// tell says what was made, kept, removed and left alone.
func tell(r *handover.Result, v voice) error {
	if v.json {
		return writeJSON(v.out, resultDocument(r))
	}
	warnings := r.Warnings
	if v.quiet {
		warnings = onlyOpen(warnings)
	} else {
		fmt.Fprintf(v.out, "%s: %d made, %d kept", printable(r.Out), len(r.Made), len(r.Kept))
		if len(r.Removed) > 0 {
			fmt.Fprintf(v.out, ", %d outdated removed", len(r.Removed))
		}
		fmt.Fprintln(v.out)
		if v.verbose {
			each(v, "made", r.Made)
			each(v, "kept", r.Kept)
			each(v, "removed", r.Removed)
		}
	}
	sayWarnings(v.out, warnings)
	return nil
}

func each(v voice, did string, files []string) {
	for _, f := range files {
		fmt.Fprintf(v.out, "  %s %s\n", did, printable(f))
	}
}

// made is what --json prints.
type made struct {
	Out      string         `json:"out"`
	Made     []string       `json:"made"`
	Kept     []string       `json:"kept"`
	Removed  []string       `json:"removed"`
	LeftOut  []string       `json:"left_alone"`
	Warnings []warningShown `json:"warnings"`
	Exit     int            `json:"exit"`
}

type warningShown struct {
	Code    string         `json:"code"`
	Row     int            `json:"row,omitempty"`
	Text    string         `json:"text"`
	Hint    string         `json:"hint,omitempty"`
	Open    bool           `json:"open"`
	Affects []codes.Output `json:"affects"`
}

func resultDocument(r *handover.Result) made {
	m := made{Out: r.Out, Made: some(r.Made), Kept: some(r.Kept), Removed: some(r.Removed), LeftOut: some(r.Foreign), Warnings: []warningShown{}}
	for _, w := range r.Warnings {
		m.Warnings = append(m.Warnings, warningShown{string(w.Code), w.Row, w.Text.String(), w.Hint.String(), w.Open(), affected(w)})
	}
	if r.Open() {
		m.Exit = exitOpen
	}
	return m
}

// affected are the parts of the handover that a warning affects.
func affected(w timeline.Warning) []codes.Output {
	info, _ := w.Code.Info()
	return info.Affects
}

// some makes an empty list print as [] and not as null.
func some(names []string) []string {
	if names == nil {
		return []string{}
	}
	return names
}

func onlyOpen(ws []timeline.Warning) []timeline.Warning {
	var open []timeline.Warning
	for _, w := range ws {
		if w.Open() {
			open = append(open, w)
		}
	}
	return open
}
