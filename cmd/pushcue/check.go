package main

import (
	"encoding/json"
	"fmt"
	"slices"
	"strconv"

	"github.com/mattn/go-runewidth"
	"github.com/urfave/cli/v2"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/handover"
	"pushcue/internal/job"
	"pushcue/internal/placing"
	"pushcue/timeline"
	"pushcue/timeline/timecode"
	"pushcue/timeline/wording"
	"pushcue/timeline/words"
)

func checkCommand() *cli.Command {
	return &cli.Command{
		Name:      "check",
		Usage:     "place each observation on the recording and along the line, and say how sure it is",
		ArgsUsage: "JOB",
		Description: "JOB is a job folder, a visit folder or a job.toml. Nothing is written but what was read off" +
			" the recording's pictures, once, into the job's work folder." +
			" The table shows where each observation was placed; ± holds the truth in 95 % of cases.",
		Flags: append(jobFlags(),
			&cli.StringFlag{Name: "why", Usage: "explain how data row `ROW` of the log came to its place, or what is known of a moment of the recording (1:04.2)"},
			&cli.BoolFlag{Name: "quick", Usage: "don't look through the pictures: what was read off them before is used"},
		),
		Action: func(c *cli.Context) error {
			a, err := ask(c)
			if err != nil {
				return err
			}
			var q *question
			if c.IsSet("why") {
				if q, err = questionOf(c.String("why")); err != nil {
					return err
				}
			}
			return check(c, a, q, voiceOf(c))
		},
	}
}

// A question is what --why asks about: a data row of the log, or a moment of the recording.
type question struct {
	row    int // 0: a moment
	moment timecode.Video
}

// questionOf reads a number as a row, and what has units or colons as a moment.
func questionOf(text string) (*question, error) {
	if row, err := strconv.Atoi(text); err == nil && row > 0 {
		return &question{row: row}, nil
	}
	at, _, label, err := timecode.ParseVideo(text)
	if _, bare := strconv.ParseFloat(text, 64); err != nil || label != nil || bare == nil {
		return nil, &usageError{text: "--why takes a data row of the log, counted from 1, or a moment of the recording", hint: "for example: --why 7, or --why 1:04.2"}
	}
	return &question{moment: at}, nil
}

func check(c *cli.Context, a job.Ask, why *question, v voice) error {
	visit, err := job.Open(c.Context, a)
	if err != nil {
		return err
	}
	tools, err := findTools(c, visit)
	if err != nil {
		return err
	}
	open := false
	var documents []json.RawMessage
	for i, job := range visit.Jobs {
		placed, err := place(c, tools, job, v)
		if err != nil {
			return err
		}
		open = open || placed.Open()
		switch {
		case v.json:
			text, err := json.Marshal(handover.Document(placed))
			if err != nil {
				return err
			}
			documents = append(documents, text)
		case why != nil:
			if err := explain(placed, *why, v); err != nil {
				return err
			}
		default:
			if i > 0 {
				fmt.Fprintln(v.out)
			}
			if err := show(placed, v); err != nil {
				return err
			}
		}
	}
	if !v.json && !v.quiet && why == nil {
		sayGone(c, visit, v)
	}
	if v.json {
		if err := writeDocuments(documents, visit.Many, v); err != nil {
			return err
		}
	}
	return outcome(open)
}

func place(c *cli.Context, tools *ffmpeg.Tools, job *job.Job, v voice) (*placing.Placed, error) {
	progress := newProgress(c.Context, v)
	placed, err := placing.Place(c.Context, tools, job, placing.PlaceOptions{Progress: progress, Quick: c.Bool("quick")})
	progress.end(err == nil)
	return placed, err
}

// writeDocuments prints one timeline, or a list of them for a visit.
func writeDocuments(documents []json.RawMessage, many bool, v voice) error {
	if many {
		return writeJSON(v.out, documents)
	}
	return writeJSON(v.out, documents[0])
}

func explain(p *placing.Placed, q question, v voice) error {
	if q.row == 0 {
		return explainMoment(p, q.moment, v)
	}
	sentences, ok := p.Timeline.Explain(q.row)
	if !ok {
		rows := 0
		if p.Timeline.Log != nil {
			rows = len(p.Timeline.Log.Rows)
		}
		return &usageError{
			text: fmt.Sprintf("the log has no data row %d", q.row),
			hint: fmt.Sprintf("it has %d, counted from 1 below the header", rows),
		}
	}
	for _, s := range sentences {
		fmt.Fprintln(v.out, printable(s.String()))
	}
	for _, s := range belongingsOf(p, q.row) {
		fmt.Fprintln(v.out, printable(s))
	}
	return nil
}

func explainMoment(p *placing.Placed, at timecode.Video, v voice) error {
	var stands []timeline.Stand
	if p.Seen != nil {
		stands = p.Seen.Stands()
	}
	sentences, ok := p.Timeline.ExplainMoment(at, stands)
	if !ok {
		return &usageError{
			text: fmt.Sprintf("the recording has no moment %s", at),
			hint: fmt.Sprintf("it is %s long", p.Timeline.Recording.End),
		}
	}
	for _, s := range sentences {
		fmt.Fprintln(v.out, printable(s.String()))
	}
	return nil
}

func show(p *placing.Placed, v voice) error {
	if !v.quiet {
		fmt.Fprintln(v.out, headline(p))
		if len(p.Timeline.Observations) > 0 {
			if err := placedTable(p.Timeline).write(v.out); err != nil {
				return err
			}
			if slices.ContainsFunc(p.Timeline.Observations, func(o timeline.Observation) bool {
				return o.TrueTime != nil && p.Timeline.TimeSource(o.Video).Unchecked()
			}) {
				fmt.Fprintln(v.out, "? nobody has checked the clock that this time comes from")
			}
		}
		for _, line := range belongings(p) {
			fmt.Fprintln(v.out, oneLine(line))
		}
		if p.CounterSheet != "" {
			fmt.Fprintf(v.out, "what the counter shows: %s\n", printable(fromHere(p.CounterSheet)))
		}
		if p.Unlooked() {
			fmt.Fprintln(v.out, "the pictures weren't looked through yet: check without --quick reads their\ncounter, if they show one")
		}
	}
	shown := p.Warnings
	if v.quiet {
		shown = onlyOpen(shown)
	}
	sayWarnings(v.out, shown)
	return nil
}

func headline(p *placing.Placed) string {
	t := p.Timeline
	parts := []string{p.Job.Name}
	if t.Sheet.Line.Name != "" {
		parts = append(parts, t.Sheet.Line.Name)
	}
	if len(t.Recording.Frames) == 1 {
		parts = append(parts, "a recording of one picture")
	} else {
		parts = append(parts, fmt.Sprintf("%s of recording in %s", t.Recording.End, counted(len(t.Recording.Parts), "part")))
	}
	if t.Log != nil {
		parts = append(parts, counted(len(t.Log.Rows), "row")+" in the log")
	} else {
		parts = append(parts, "no log")
	}
	if day := wording.In(words.English(), t).DayAt(t.ShowFrom); day != "" {
		parts = append(parts, day)
	}
	return onLines(parts)
}

// onLines joins the parts, going on in a further line where 80 columns are full.
func onLines(parts []string) string {
	const most = 80
	line, text := "", ""
	for i, p := range parts {
		p = oneLine(p)
		switch longer := line + " · " + p; {
		case i == 0:
			line = p
		case runewidth.StringWidth(longer) <= most:
			line = longer
		default:
			text += line + " ·\n"
			line = "  " + p
		}
	}
	return text + line
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
