package main

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"strings"
	"sync"

	"github.com/urfave/cli/v2"

	"pushcue/internal/handover"
	"pushcue/internal/handover/bag"
	"pushcue/internal/handover/drive"
	"pushcue/internal/job"
	"pushcue/internal/manifest"
	"pushcue/internal/progress"
	"pushcue/internal/reach"
	"pushcue/internal/trouble"
	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// archiveForms are the forms of an archive and the ending of each.
var archiveForms = map[string]string{"zip": ".zip", "tar": ".tar", "folder": ""}

func bagCommand() *cli.Command {
	return &cli.Command{
		Name:      "bag",
		Usage:     "keep a job for good: recordings, log, sheets and handover with their sums in one archive",
		ArgsUsage: "JOB",
		Description: "The archive is a bag as RFC 8493 describes it. It is read back before it gets its name." +
			" A note in it says what each file is and with what it can be opened; the handover can be made" +
			" again from its data folder. Nothing in the job folder is changed or removed.",
		Flags: []cli.Flag{
			&cli.StringFlag{Name: "to", Usage: "put it into `DIR` (default: beside the job folder)"},
			&cli.StringFlag{Name: "as", Value: "zip", Usage: "write it as `FORM`: zip, tar or folder"},
			outsideFlag(),
			&cli.StringFlag{Name: "out", Usage: "the handover is in `DIR` (default: handover in the job folder)"},
			asItIs(),
			&cli.BoolFlag{Name: "json", Usage: "print one JSON document for programs"},
			&cli.BoolFlag{Name: "quiet", Aliases: []string{"q"}, Usage: "print errors and the seal only"},
		},
		Action: func(c *cli.Context) error {
			a, err := ask(c)
			if err != nil {
				return err
			}
			ending, known := archiveForms[c.String("as")]
			if !known {
				return &usageError{text: fmt.Sprintf("an archive can't be written as %q", c.String("as")), hint: "--as takes: zip, tar or folder"}
			}
			return keepJob(c, a, ending, voiceOf(c))
		},
	}
}

func keepJob(c *cli.Context, a job.Ask, ending string, v voice) error {
	visit, err := job.Open(c.Context, a)
	if err != nil {
		return err
	}
	finished, err := handover.Finish(c.Context, a)
	if err != nil {
		return err
	}
	changed, err := outOfDate(c, a, finished.Dir)
	if err != nil {
		return err
	}
	letGo, err := finished.Hold()
	if err != nil {
		return err
	}
	defer letGo()
	progress := newProgress(c.Context, v)
	w, found, err := writeBag(c, visit, finished, ending, progress)
	progress.end(err == nil)
	if err != nil {
		return writingBag(err)
	}
	unnoted := finished.NoteLeft(a, handover.Destination{To: absolute(w.Path)})
	if v.json {
		return errors.Join(writeJSON(v.out, map[string]any{"archive": w.Path, "edition": finished.Edition().Number, "files": w.Files, "bytes": w.Bytes, "seal": w.Seal, "outside": some(found.outside),
			"links_left_out": some(found.linked), "out_of_date": sentences(changed)}), outcome(len(changed)+len(found.linked) > 0))
	}
	if !v.quiet {
		fmt.Fprintf(v.out, "%s: %s, %s, read back and the same\n", printable(w.Path), numberOf(w.Files, "file"), bytesOf(w.Bytes))
		fmt.Fprintln(v.out, "it holds "+editionOf(finished.Edition()))
		for _, name := range found.outside {
			fmt.Fprintf(v.out, "note: %s lay outside the job folder and is kept in it\n", printable(name))
		}
	}
	for _, name := range found.linked {
		fmt.Fprintf(v.out, "open: %s is a link that leads out of the job folder, and isn't in the archive\n", printable(name))
	}
	if unnoted != nil {
		fmt.Fprintf(v.out, "note: that it was archived can't be noted in the job: %s\n", printable(unnoted.Error()))
	}
	saySeal(v, w.Seal)
	if !v.quiet {
		hint(v.out, "note it somewhere else, with the invoice or in the diary: if nothing in the")
		hint(v.out, "archive was changed, not even its lists of sums, the same seal is shown by")
		hint(v.out, "pushcue verify "+quoted(w.Path))
	}
	sayOutOfDate(v, changed)
	return outcome(len(changed)+len(found.linked) > 0)
}

// strays are what an archive was asked to hold and doesn't lie in the job folder.
type strays struct {
	outside []string // kept in the archive, by their names in it
	linked  []string // links that lead out, and are left out
}

func writeBag(c *cli.Context, visit *job.Visit, f *handover.Finished, ending string, show progress.Progress) (*bag.Written, strays, error) {
	var found strays
	var total, done float64
	var guard sync.Mutex
	advance := func(n int64) {
		guard.Lock()
		defer guard.Unlock()
		done += float64(n)
		show.Advance(done)
	}
	show.Step(words.Tell("looking whether the handover is what its list says"), 0)
	findings, err := f.Compare(c.Context, func(_ string, n int) { advance(int64(n)) })
	if err != nil {
		return nil, found, err
	}
	if len(findings) > 0 {
		return nil, found, changedHandover(findings)
	}
	files, outside, linked, err := handover.Payload(c.Context, visit, f)
	found = strays{outside, linked}
	if err != nil {
		return nil, found, err
	}
	var payload []bag.File
	for _, k := range files {
		if bag.FormOf(k.Path) != bag.Folder && bag.Is(k.Path) {
			continue // an earlier archive of the job
		}
		payload = append(payload, bag.File{Path: k.Path, Name: k.Name, Open: k.Open})
		total += float64(sizeOf(k.Path))
	}
	target := archivePath(c, visit, f) + ending
	for _, own := range []string{f.Dir, visit.Dir} {
		if reach.Within(own, filepath.Dir(target)) {
			return nil, found, fault.Of(fault.Fault{File: filepath.Dir(target), Text: words.Tell("this lies in the folder that is archived, and an archive can't hold itself"), Hint: words.Tell("name another place with --to")})
		}
	}
	if err := fits(target, payload, int64(total)); err != nil {
		return nil, found, err
	}
	done = 0
	show.Step(words.Tell("archiving"), 2*total)
	w, err := bag.Write(c.Context, target, payload, bagInfo(visit, f, int64(total)), func(_, _ string, n int64) { advance(n) })
	return w, found, err
}

// fits looks, before the first byte, whether the place can hold the archive.
func fits(target string, payload []bag.File, total int64) error {
	const ownNotes = 1 << 20
	at := filepath.Dir(target)
	for sizeOf(at) == 0 && filepath.Dir(at) != at { // made later where it isn't there yet
		at = filepath.Dir(at)
	}
	if bag.FormOf(target) != bag.Folder {
		return drive.Fits(at, total+ownNotes)
	}
	lengths := []int64{ownNotes}
	for _, f := range payload {
		lengths = append(lengths, sizeOf(f.Path))
	}
	return drive.Fits(at, lengths...)
}

// archivePath names the archive by the job and its day.
func archivePath(c *cli.Context, visit *job.Visit, f *handover.Finished) string {
	dir := c.String("to")
	if dir == "" {
		dir = filepath.Dir(visit.Dir)
	}
	name := f.Kept
	if date := f.Job.Date; date != nil {
		name += "_" + *date
	}
	return filepath.Join(dir, name)
}

func changedHandover(findings []manifest.Finding) error {
	texts := make([]string, len(findings))
	for i, f := range findings {
		texts[i] = f.String()
	}
	return &drive.Unproven{
		Text: "the handover isn't what its list of sums says, so it wasn't archived:\n  " + strings.Join(texts, "\n  "),
		Hint: "run `pushcue make` again, and move what doesn't belong there out of it",
	}
}

// bagInfo fills in the labels that RFC 8493 section 2.2.2 reserves.
func bagInfo(visit *job.Visit, f *handover.Finished, bytes int64) bag.Info {
	var info bag.Info
	add := func(label string, values ...*string) {
		for _, v := range values {
			if v != nil && strings.TrimSpace(*v) != "" {
				info = append(info, bag.Field{Label: label, Value: *v})
			}
		}
	}
	j := f.Job
	if firm := j.Firm; firm != nil {
		add("Source-Organization", firm.Name)
		add("Organization-Address", firm.Address)
		add("Contact-Name", j.Operator)
		add("Contact-Phone", firm.Phone)
		add("Contact-Email", firm.Email)
	} else {
		add("Contact-Name", j.Operator)
	}
	description := []string{"Camera push through a drain"}
	if visit.Many {
		description[0] = fmt.Sprintf("Visit of %d camera pushes through drains", len(visit.Jobs))
	}
	for _, s := range []*string{j.Line.Name, siteAddress(f), j.Date} {
		if s != nil {
			description = append(description, strings.Join(strings.Fields(*s), " "))
		}
	}
	text, folder, size := strings.Join(description, ", "), job.FolderName(visit.Dir), bytesOf(bytes)
	add("External-Description", &text)
	add("External-Identifier", j.Reference)
	add("Internal-Sender-Identifier", &folder)
	add("Bag-Size", &size)
	return info
}

func siteAddress(f *handover.Finished) *string {
	if f.Job.Site == nil {
		return nil
	}
	return f.Job.Site.Address
}

// writingBag puts what went wrong with the place to write to into plain words.
func writingBag(err error) error {
	var unproven *bag.Unproven
	if errors.As(err, &unproven) {
		return &drive.Unproven{Text: unproven.Text, Hint: "don't trust the disk it was written to: take another one"}
	}
	var at *fs.PathError
	if errors.As(err, &at) && !errors.Is(err, fs.ErrNotExist) {
		return &trouble.Trouble{
			Text: words.Tell("the archive can't be written: %s: %s", at.Path, at.Err.Error()),
			Hint: words.Tell("make room, or name another place with --to; nothing of it was left behind"),
		}
	}
	return err
}
