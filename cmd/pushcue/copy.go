package main

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"sync"

	"github.com/urfave/cli/v2"
	"github.com/vbauerster/mpb/v8"

	"pushcue/internal/handover"
	"pushcue/internal/handover/drive"
	"pushcue/internal/handover/edition"
	"pushcue/internal/job"
	"pushcue/internal/progress"
	"pushcue/timeline/words"
)

func copyCommand() *cli.Command {
	return &cli.Command{
		Name:      "copy",
		Usage:     "copy the handover onto a drive, read it back, and say when the drive may be taken out",
		ArgsUsage: "JOB DRIVE [DRIVE...]",
		Description: "JOB is a job folder, a visit folder or a job.toml whose handover is made; DRIVE is where the" +
			" thumb drive shows up. The handover becomes one folder on it; nothing else there is touched." +
			" Every file is written, flushed to the drive, read back and compared before it gets its name." +
			" A copy that was cut short goes on where it stopped when the same command runs again." +
			" Several drives are written at the same time.",
		Flags: []cli.Flag{
			&cli.StringFlag{Name: "as", Usage: "call the folder on the drive `NAME`"},
			&cli.StringFlag{Name: "for", Usage: "copy what was made for `WHO`: buyer"},
			&cli.StringFlag{Name: "out", Usage: "the handover is in `DIR` (default: handover in the job folder)"},
			&cli.StringSliceFlag{Name: "video", Usage: "the recording that make was told to take, `FILE`"},
			&cli.StringFlag{Name: "log", Usage: "the log that make was told to take, `FILE`"},
			outsideFlag(),
			asItIs(),
			&cli.BoolFlag{Name: "json", Usage: "print one JSON document for programs"},
			&cli.BoolFlag{Name: "quiet", Aliases: []string{"q"}, Usage: "print errors and the closing sentences only"},
		},
		Action: func(c *cli.Context) error {
			if c.NArg() < 2 {
				return &usageError{text: "copy takes a job and a drive", hint: "for example: pushcue copy jobs/2291-B " + someDrive}
			}
			s, err := readSettings()
			if err != nil {
				return err
			}
			a := job.Ask{Path: c.Args().First(), Videos: c.StringSlice("video"), Log: c.String("log"), Out: c.String("out"), For: c.String("for"), Settings: settingsDir(), Key: s.WorkKey, Outside: c.Bool("outside")}
			f, err := handover.Finish(c.Context, a)
			if err != nil {
				return err
			}
			changed, err := outOfDate(c, a, f.Dir)
			if err != nil {
				return err
			}
			letGo, err := f.Hold()
			if err != nil {
				return err
			}
			defer letGo()
			going, err := f.Outgoing(c.Context, a)
			if err != nil {
				return err
			}
			if err := handover.Unsettled(going); err != nil {
				return err
			}
			v := voiceOf(c)
			sayOutgoing(v, going)
			name := f.Name
			if c.String("as") != "" {
				name = c.String("as")
			}
			cargo, err := drive.Load(c.Context, f.Dir, name)
			if err != nil {
				return err
			}
			cargo.Own = f.Own
			if !v.quiet && !v.json {
				fmt.Fprintln(v.out, "this is "+editionOf(f.Edition()))
			}
			about := carried{changed: changed, going: going, edition: f.Edition()}
			about.note = func(to handover.Destination) error { return f.NoteLeft(a, to) }
			return copyToDrives(c, cargo, c.Args().Tail(), about, v)
		},
	}
}

// carried is what a person should know of the handover that is copied.
type carried struct {
	changed []words.Sentence    // what it doesn't show because it is out of date
	going   []handover.Outgoing // what leaves the house with it
	edition edition.Edition
	note    func(handover.Destination) error // that it left
}

// sayOutgoing lists what leaves the house with a handover, before the first byte does.
func sayOutgoing(v voice, going []handover.Outgoing) {
	if v.quiet || v.json || len(going) == 0 {
		return
	}
	fmt.Fprintln(v.out, "what would leave the house with this copy:")
	for _, o := range going {
		fmt.Fprintln(v.out, folded(v.out, "  "+printable(o.Text.String())))
		hint(v.out, o.Hint.String())
	}
}

// outgoingDocument is a line of that list as --json prints it.
type outgoingDocument struct {
	Code  string `json:"code"`
	Text  string `json:"text"`
	Hint  string `json:"hint"`
	Found bool   `json:"found"`
}

func outgoingDocuments(going []handover.Outgoing) []outgoingDocument {
	all := make([]outgoingDocument, len(going))
	for i, o := range going {
		all[i] = outgoingDocument{o.Code, o.Text.String(), o.Hint.String(), o.Found}
	}
	return all
}

// copied is what became of one drive.
type copied struct {
	drive string
	out   *drive.Outcome
	err   error

	unnoted error // why the job doesn't know of it
}

func absolute(path string) string {
	if full, err := filepath.Abs(path); err == nil {
		return full
	}
	return path
}

// copyToDrives copies to all drives at the same time.
func copyToDrives(c *cli.Context, cargo *drive.Cargo, drives []string, about carried, v voice) error {
	all := make([]copied, len(drives))
	show := newDriveProgress(c, v)
	var wait sync.WaitGroup
	for i, to := range drives {
		progress := show.of(to)
		wait.Go(func() {
			out, err := drive.Copy(c.Context, cargo, to, progress.tell)
			progress.end(err == nil)
			all[i] = copied{drive: to, out: out, err: err}
			if err == nil {
				all[i].unnoted = about.note(handover.Destination{To: absolute(out.Folder), Label: out.Label, Serial: out.Serial})
			}
		})
	}
	wait.Wait()
	show.wait()
	if c.Context.Err() != nil {
		return c.Context.Err()
	}
	if v.json {
		return writeCopied(v, all, about)
	}
	var failed several
	open := len(about.changed) > 0
	for _, one := range all {
		if one.err != nil {
			failed = append(failed, one.err)
			continue
		}
		open = open || len(one.out.TooLarge) > 0
		if one.unnoted != nil {
			fmt.Fprintf(v.out, "note: that it left can't be noted in the job: %s\n", printable(one.unnoted.Error()))
		}
		sayCopied(v, one.out)
	}
	if len(failed) > 0 {
		return failed
	}
	sayOutOfDate(v, about.changed)
	return outcome(open)
}

// sayCopied ends a copy in plain words: what stands on the drive, and when it may
// be taken out.
func sayCopied(v voice, o *drive.Outcome) {
	if !v.quiet {
		fmt.Fprintf(v.out, "%s: %s copied", printable(o.Folder), numberOf(o.Copied, "file"))
		if o.Kept > 0 {
			fmt.Fprintf(v.out, ", %d there already and proven again", o.Kept)
		}
		fmt.Fprintf(v.out, ", %s in all\n", bytesOf(o.Bytes))
	}
	for _, name := range o.TooLarge {
		formatted := ""
		if o.FAT32 {
			formatted = ", formatted as FAT32,"
		}
		fmt.Fprintf(v.out, "open: %s is too large for this drive%s and was left out\n", printable(name), formatted)
	}
	if len(o.TooLarge) > 0 {
		hint(v.out, "format a drive as exFAT, which holds files of any size, and copy again")
	}
	for _, name := range o.Foreign {
		fmt.Fprintf(v.out, "note: %s isn't ours, or was changed by somebody, and was left as it is\n", printable(name))
	}
	for _, line := range closing(o) {
		fmt.Fprintln(v.out, line)
	}
}

// closing is what the person with the drive in hand is told last.
func closing(o *drive.Outcome) []string {
	same := "Everything was read back from the drive and is the same as the handover."
	if len(o.TooLarge) > 0 {
		same = "Everything else was read back from the drive and is the same as the handover."
	}
	how, command := howToEject(o.Drive)
	switch {
	case o.SameDisk:
		return []string{
			strings.Replace(same, " from the drive", "", 1),
			"note: " + printable(o.Drive) + " lies on the same disk as the job:",
			"      when that disk fails, both are gone",
		}
	case !o.Dropped:
		return indented(
			"Everything reads back the same, but this system may have answered from its",
			"memory and not from the drive.",
			"Eject it: "+how, command,
			"Then plug it in again and run:", "pushcue verify "+quoted(o.Drive))
	}
	return indented(
		same,
		"Eject it now: "+how, command,
		"When the system says that it may be taken out, take it out. Not before.")
}

// indented sets what is to be typed, after a line that ends with a colon, on a line of
// its own.
func indented(lines ...string) []string {
	var all []string
	typed := false
	for _, line := range lines {
		switch {
		case line == "":
			continue
		case typed:
			line = "      " + printable(line)
		}
		typed = strings.HasSuffix(line, ":")
		all = append(all, line)
	}
	return all
}

func hint(w io.Writer, text string) { fmt.Fprintf(w, "      %s\n", text) }

// copiedDocument is one drive as --json prints it.
type copiedDocument struct {
	Drive    string      `json:"drive"`
	Folder   string      `json:"folder"`
	Copied   int         `json:"copied"`
	Kept     int         `json:"kept"`
	Bytes    int64       `json:"bytes"`
	TooLarge []string    `json:"too_large"`
	Foreign  []string    `json:"left_alone"`
	SameDisk bool        `json:"same_disk"`
	Device   bool        `json:"read_from_device"`
	Proven   bool        `json:"proven"`
	Errors   []complaint `json:"errors,omitempty"`
}

func writeCopied(v voice, all []copied, about carried) error {
	code := exitDone
	if len(about.changed) > 0 {
		code = exitOpen
	}
	documents := make([]copiedDocument, len(all))
	for i, one := range all {
		d := copiedDocument{Drive: one.drive, TooLarge: []string{}, Foreign: []string{}, Proven: one.err == nil}
		if o := one.out; o != nil {
			d.Folder, d.Copied, d.Kept, d.Bytes = o.Folder, o.Copied, o.Kept, o.Bytes
			d.TooLarge, d.Foreign, d.SameDisk, d.Device = some(o.TooLarge), some(o.Foreign), o.SameDisk, o.Dropped
			if len(o.TooLarge) > 0 && graver(exitOpen, code) {
				code = exitOpen
			}
		}
		if one.err != nil {
			var c int
			if c, d.Errors = understand(one.err); graver(c, code) {
				code = c
			}
		}
		documents[i] = d
	}
	if err := writeJSON(v.out, map[string]any{"exit": code, "drives": documents, "out_of_date": sentences(about.changed), "outgoing": outgoingDocuments(about.going), "edition": about.edition.Number, "replaces": about.edition.Replaces}); err != nil || code == exitDone {
		return err
	}
	return ended(code)
}

// driveProgress shows several drives at once: a bar each, or plain lines.
type driveProgress struct {
	v   voice
	all *mpb.Progress
	out io.Writer
}

func newDriveProgress(c *cli.Context, v voice) *driveProgress {
	p := &driveProgress{v: v, out: &lockedWriter{w: v.errs}}
	if !v.quiet && !v.json && isTerminal(v.errs) {
		p.all = newBars(c.Context, v)
	}
	return p
}

func (p *driveProgress) wait() {
	if p.all != nil {
		p.all.Wait()
	}
}

func (p *driveProgress) of(drive string) *oneDrive {
	one := &oneDrive{name: "copying to " + drive}
	switch {
	case p.all != nil:
		one.show = &bars{all: p.all, v: p.v}
	case p.v.quiet || p.v.json:
		one.show = silent{}
	default:
		one.show = newLines(p.out, p.v)
	}
	return one
}

// oneDrive turns a copy's progress, written and read back, into one step.
type oneDrive struct {
	name  string
	show  progress.Progress
	begun bool
}

func (d *oneDrive) tell(p drive.Progress) {
	if !d.begun {
		d.begun = true
		d.show.Step(words.Plain("%s", printable(d.name)), float64(p.Total))
	}
	d.show.Advance(float64(p.Done))
}

func (d *oneDrive) end(done bool) {
	if b, ok := d.show.(*bars); ok {
		b.close(done)
	}
}

type lockedWriter struct {
	sync.Mutex
	w io.Writer
}

func (l *lockedWriter) Write(p []byte) (int, error) {
	l.Lock()
	defer l.Unlock()
	return l.w.Write(p)
}
