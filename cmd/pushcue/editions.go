package main

import (
	"fmt"
	"strings"
	"time"

	"github.com/urfave/cli/v2"

	"pushcue/internal/handover"
	"pushcue/internal/handover/edition"
	"pushcue/internal/job"
)

// editionOf says which edition of a handover this is.
func editionOf(e edition.Edition) string {
	text := fmt.Sprintf("edition %d", e.Number)
	if e.Replaces > 0 {
		text += fmt.Sprintf("; it replaces edition %d", e.Replaces)
	}
	if e.Left != "" {
		text += ", which left on " + e.Left
	}
	return text
}

// sayGone lists which edition of a job's handover went where.
func sayGone(c *cli.Context, visit *job.Visit, v voice) {
	for _, g := range handover.GoneFrom(c.Context, visit) {
		text := fmt.Sprintf("edition %d went to %s", g.Number, oneLine(g.To))
		if on := strings.Trim(oneLine(g.Label+" "+g.Serial), " "); on != "" {
			text += " (" + on + ")"
		}
		if !g.At.IsZero() {
			text += " on " + g.At.Format(time.DateOnly)
		}
		if !g.Ours {
			text += ", as somebody else noted"
		}
		fmt.Fprintln(v.out, printable(text))
	}
}
