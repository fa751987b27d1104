package main

import (
	"fmt"

	"github.com/urfave/cli/v2"

	"pushcue/internal/handover"
	"pushcue/internal/job"
	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// asItIs is the flag by which a person carries a handover that is out of date.
func asItIs() cli.Flag {
	return &cli.BoolFlag{Name: "as-it-is", Usage: "carry the handover although the job has changed since it was made (ends with 3)"}
}

// outOfDate returns what has changed in the job since its handover was made. Unless the
// person said --as-it-is, that is an error: an old handover would be proven as if it were
// the newest.
func outOfDate(c *cli.Context, a job.Ask, dir string) ([]words.Sentence, error) {
	changed, err := handover.Stale(c.Context, a)
	if err != nil || len(changed) == 0 || c.Bool("as-it-is") {
		return changed, err
	}
	return nil, fault.Of(fault.Fault{
		File: dir,
		Text: words.Tell("the handover is out of date; since it was made, these changed: %s", words.Join(changed, words.Comma)),
		Hint: words.Tell("run `pushcue make` again and look at what it made, or carry the old one with --as-it-is"),
	})
}

// sayOutOfDate says what an old handover doesn't show.
func sayOutOfDate(v voice, changed []words.Sentence) {
	if len(changed) > 0 {
		fmt.Fprintf(v.out, "open: the handover is out of date; since it was made, these changed: %s\n", printable(words.Join(changed, words.Comma).String()))
	}
}

// sentences are English texts for programs; never null.
func sentences(all []words.Sentence) []string {
	texts := make([]string, len(all))
	for i, s := range all {
		texts[i] = s.String()
	}
	return texts
}
