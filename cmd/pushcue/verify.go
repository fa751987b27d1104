package main

import (
	"fmt"
	"sync"

	"github.com/urfave/cli/v2"

	"pushcue/internal/handover/proof"
	"pushcue/timeline/words"
)

func verifyCommand() *cli.Command {
	return &cli.Command{
		Name:      "verify",
		Usage:     "tell whether a handover, a drive or an archive is still what it was",
		ArgsUsage: "PATH",
		Description: "PATH is a handover folder, a job folder, a drive that pushcue copy wrote to, or an archive" +
			" that pushcue bag made. Every file is read. What changed, is gone, was added or renamed is named." +
			" On a drive, what isn't a handover or an archive is passed over. Nothing is written.",
		Flags: []cli.Flag{
			&cli.BoolFlag{Name: "json", Usage: "print one JSON document for programs"},
			&cli.BoolFlag{Name: "quiet", Aliases: []string{"q"}, Usage: "print only what isn't as it was"},
		},
		Action: func(c *cli.Context) error {
			if c.NArg() != 1 {
				return &usageError{text: "verify takes one place", hint: "for example: pushcue verify " + quoted(someDrive)}
			}
			return verify(c, c.Args().First(), voiceOf(c))
		},
	}
}

func verify(c *cli.Context, place string, v voice) error {
	subjects, err := proof.Find(c.Context, place)
	if err != nil {
		return err
	}
	progress := newProgress(c.Context, v)
	var reports []*proof.Report
	for _, s := range subjects {
		report, err := proveOne(c, s, progress)
		if err != nil {
			progress.end(false)
			return err
		}
		reports = append(reports, report)
	}
	progress.end(true)
	code := exitDone
	for _, r := range reports {
		if !r.Good() {
			code = exitUnproven
		}
	}
	if v.json {
		if err := writeJSON(v.out, map[string]any{"exit": code, "checked": reportDocuments(reports)}); err != nil {
			return err
		}
	} else {
		for _, r := range reports {
			sayReport(v, r)
		}
	}
	if code != exitDone {
		return ended(code)
	}
	return nil
}

func proveOne(c *cli.Context, s proof.Subject, show shownProgress) (*proof.Report, error) {
	show.Step(words.Tell("reading %s", printable(s.Path)), float64(proof.Size(s)))
	var guard sync.Mutex
	done := 0.0
	return proof.Check(c.Context, s, func(n int64) {
		guard.Lock()
		defer guard.Unlock()
		done += float64(n)
		show.Advance(done)
	})
}

func sayReport(v voice, r *proof.Report) {
	what := "handover"
	if r.Sort == proof.Bag {
		what = "archive"
	}
	if r.Good() {
		if !v.quiet {
			fmt.Fprintf(v.out, "%s: the %s is what it was: %s, %s, all the same\n", printable(r.Path), what, numberOf(r.Files, "file"), bytesOf(r.Bytes))
		}
	} else {
		fmt.Fprintf(v.out, "%s: the %s isn't what it was:\n", printable(r.Path), what)
		for _, p := range r.Problems {
			fmt.Fprintf(v.out, "  %s\n", printable(p))
		}
	}
	if v.quiet {
		return
	}
	if !r.Good() {
		hint(v.out, whatNow(r))
	}
	for _, n := range r.Notes {
		fmt.Fprintf(v.out, "note: %s\n", printable(n))
	}
	if r.Seal != "" {
		saySeal(v, r.Seal)
		hint(v.out, "compare it with the seal that was noted when the archive was made")
	}
}

// whatNow is what the person who was told of a change can do.
func whatNow(r *proof.Report) string {
	switch r.Sort {
	case proof.Bag:
		return "don't rely on what is named; look for another copy of the archive"
	case proof.Unfinished:
		return "run pushcue copy again, or ask whoever gave you the drive for a new copy"
	}
	return "make or copy it again, or ask whoever gave it to you for a new copy"
}

// saySeal writes the seal on lines that fit a terminal and a sheet of paper.
func saySeal(v voice, seal string) {
	const half = 64
	fmt.Fprintln(v.out, "seal:")
	for len(seal) > half {
		fmt.Fprintf(v.out, "  %s\n", seal[:half])
		seal = seal[half:]
	}
	fmt.Fprintf(v.out, "  %s\n", seal)
}

type reportDocument struct {
	Path     string     `json:"path"`
	Sort     proof.Sort `json:"sort"`
	Good     bool       `json:"good"`
	Files    int        `json:"files"`
	Bytes    int64      `json:"bytes"`
	Seal     string     `json:"seal,omitempty"`
	Problems []string   `json:"problems"`
	Notes    []string   `json:"notes"`
}

func reportDocuments(rs []*proof.Report) []reportDocument {
	all := make([]reportDocument, len(rs))
	for i, r := range rs {
		all[i] = reportDocument{r.Path, r.Sort, r.Good(), r.Files, r.Bytes, r.Seal, some(r.Problems), some(r.Notes)}
	}
	return all
}
