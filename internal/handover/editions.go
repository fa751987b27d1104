package handover

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"pushcue/internal/handover/account"
	"pushcue/internal/handover/edition"
	"pushcue/internal/job"
	"pushcue/internal/reach"
	"pushcue/internal/safefile"
	"pushcue/internal/seal"
	"pushcue/internal/shelf"
	"pushcue/internal/trouble"
	"pushcue/timeline/edits"
)

// editionsEnding ends the name of the record of editions, in our own folder.
const editionsEnding = ".editions"

// mostEditions bounds what is read of that record.
const mostEditions = 4 << 20

// today is the day on which a further edition begins; tests set it.
var today = func() time.Time { return time.Now() }

// editions are those of one handover, while it is being made.
type editions struct {
	work *safefile.Folder
	name string // of the record in it
	by   seal.Seal
	book *edition.Book
	now  edition.Edition // of the handover that is being made

	taken []edition.Line // from a page, since there was no record
}

// readEditions reads the record of the editions of the visit's handover. Where there is none, as
// in a job that was unpacked from an archive, numbers go on from the page that lies in the
// handover, or, for one that is made elsewhere with --out, from the job's own.
func readEditions(v *job.Visit, g *ground, reader string) (*editions, error) {
	e := &editions{work: g.work, name: filepath.Base(v.Out) + editionsEnding, by: v.Jobs[0].Seal()}
	text, err := g.work.ReadFile(e.name, mostEditions)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, trouble.Writing(g.work.At(e.name), err)
	}
	if e.book = edition.Read(text); len(e.book.Lines) > 0 {
		return e, nil
	}
	usual := job.OutName
	if reader == job.ForBuyer {
		usual = job.BuyerName
	}
	for _, out := range []string{v.Out, filepath.Join(v.Dir, usual)} {
		if page, err := reach.ReadBeneath(out, pageName, mostPage); err == nil {
			if there, ok := edition.InPage(page); ok {
				e.taken = append(e.taken, edition.Line{What: edition.Left, Edition: there})
				e.book.Lines = e.taken
				break
			}
		}
	}
	return e, nil
}

// mostPage bounds what is read of a page.
const mostPage = 64 << 20

// of is the edition of what is being made. Everything in the handover is part of what it is,
// but for page and report, which bear its number: of them their words are.
func (e *editions) of(c *customer, in account.Input) (*account.Edition, error) {
	page, err := c.page(in)
	if err != nil {
		return nil, err
	}
	identity := []any{"edition", c.reportKey(account.Of(in)), shelf.SumOf(page), c.wants["report"] || c.shelf.Wanted[reportName] != ""}
	all := c.shelf.Wanted
	if c.sums != nil {
		all = c.sums
	}
	for _, name := range shelf.SortedKeys(all) {
		if name != pageName && name != reportName {
			identity = append(identity, name, all[name])
		}
	}
	e.now = e.book.Next(shelf.KeyOf(identity...), c.asOf(), today().Format(time.DateOnly))
	return shownEdition(e.now), nil
}

func shownEdition(e edition.Edition) *account.Edition {
	day := func(s string) time.Time {
		t, _ := time.Parse(time.DateOnly, s) // zero where it isn't known
		return t
	}
	return &account.Edition{Number: e.Number, Day: day(e.Day), Replaces: e.Replaces, Left: day(e.Left), Mark: e.Mark()}
}

// asOf is the day of what a handover tells: of the last correction, else of the push; "" where
// neither is known.
func (c *customer) asOf() string {
	last := time.Time{}
	for _, p := range c.pushes {
		if p.edits == nil {
			continue
		}
		for _, e := range p.edits.Live() {
			if at := e.Time.In(p.timeline.Sheet.Zone()); e.What != edits.Noted && at.After(last) {
				last = at
			}
		}
	}
	if day := c.day(); last.IsZero() && day.Year() > 2000 {
		last = day
	}
	if last.IsZero() {
		return ""
	}
	return last.Format(time.DateOnly)
}

// made notes the edition that was made, by the sum of its list of sums.
func (e *editions) made(list string) error {
	if there, ok := e.book.Of(list); ok && there == e.now {
		return nil
	}
	for _, l := range e.taken {
		if err := appendLine(e.work, e.name, e.by, l); err != nil {
			return err
		}
	}
	e.taken = nil
	return appendLine(e.work, e.name, e.by, edition.Line{What: edition.Made, Edition: e.now, List: list})
}

// appendLine adds a line to a record and brings it to the disk.
func appendLine(work *safefile.Folder, name string, by seal.Seal, l edition.Line) error {
	l.Version = edition.Version
	l.Seal = by.Over(l.Claim()...)
	text, err := l.Text()
	if err != nil {
		return err
	}
	f, err := work.OpenFile(name, os.O_WRONLY|os.O_APPEND|os.O_CREATE, 0o644)
	if err != nil {
		return trouble.Writing(work.At(name), err)
	}
	_, err = f.Write(text)
	return trouble.Writing(work.At(name), errors.Join(err, f.Sync(), f.Close()))
}

// A Destination is where a handover went.
type Destination struct{ To, Label, Serial string }

// Edition is the finished handover's own; the first where nothing tells, as for one that an
// earlier version of this program made.
func (f *Finished) Edition() edition.Edition {
	if e, ok := edition.Read(f.editions()).Of(f.listSum()); ok {
		return e
	}
	if page, err := reach.ReadBeneath(f.Dir, pageName, mostPage); err == nil {
		if e, ok := edition.InPage(page); ok {
			return e
		}
	}
	return edition.Edition{Number: 1}
}

func (f *Finished) editions() []byte {
	text, err := reach.ReadBeneath(f.work, filepath.Base(f.Dir)+editionsEnding, mostEditions)
	if err != nil {
		return nil
	}
	return text
}

func (f *Finished) listSum() string {
	list, err := reach.ReadBeneath(f.Dir, shelf.SumsName, job.SumsBytes)
	if err != nil {
		return ""
	}
	sum := sha256.Sum256(list)
	return hex.EncodeToString(sum[:])
}

// NoteLeft notes that the handover left the house. Where there is no work folder, as beside a
// handover on a drive, nothing is noted.
func (f *Finished) NoteLeft(a job.Ask, to Destination) error {
	work, err := safefile.OpenWithin(f.work, f.work, nil)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return trouble.Writing(f.work, err)
	}
	defer work.Close()
	return appendLine(work, filepath.Base(f.Dir)+editionsEnding, a.Seal(), edition.Line{
		What: edition.Left, Edition: f.Edition(), List: f.listSum(), At: today().Truncate(time.Second), To: to.To, Label: to.Label, Serial: to.Serial,
	})
}

// Gone is an edition that left the house.
type Gone struct {
	edition.Line
	Ours bool // noted by this user's pushcue: our seal is on it
}

// GoneFrom lists what left the house of a job's or visit's handover, by the job's own record.
func GoneFrom(ctx context.Context, v *job.Visit) []Gone {
	text, err := reach.ReadBeneath(v.Work, filepath.Base(v.Out)+editionsEnding, mostEditions)
	if err != nil || ctx.Err() != nil {
		return nil
	}
	var all []Gone
	by := v.Jobs[0].Seal()
	for _, l := range edition.Read(text).Gone() {
		if l.To == "" {
			continue // only known from a page
		}
		all = append(all, Gone{l, by.Holds(l.Seal, l.Claim()...)})
	}
	return all
}
