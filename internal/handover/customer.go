package handover

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"path/filepath"
	"time"

	"pushcue/internal/handover/account"
	"pushcue/internal/handover/page"
	"pushcue/internal/handover/report"
	"pushcue/internal/job"
	"pushcue/internal/shelf"
	"pushcue/internal/trouble"
	"pushcue/subtitles"
	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/edits"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

const (
	pageName   = "index.html"
	reportName = "report.pdf"
)

// pageAndReport are what the customer opens first. Those of a visit tell of all its
// pushes, and stand above their folders.
type pageAndReport struct {
	*making
	plansNothing
	joinsNothing
	entersNothing
}

func (p *pageAndReport) finish(ctx context.Context) error {
	if p.many {
		return nil // the visit has one of each
	}
	p.sayCustomer()
	firm, warning := readLogo(p.job)
	if warning != nil {
		p.warnings = append(p.warnings, *warning)
	}
	c := customer{shelf: p.shelf, wants: p.wants, logo: firm, pushes: []told{p.told("")}, sheet: p.customerSheet(), editions: p.editions}
	return c.write(ctx)
}

// A told is one push as the customer's page and report tell of it.
type told struct {
	base     string // where its files lie, relative to the page
	name     string
	timeline *timeline.Timeline
	warnings []timeline.Warning
	made     account.Made
	films    []page.Film
	burned   bool // its film shows the notes already
	log      bool
	still    map[string]string // sum of each picture, by its path relative to the page
	open     func(name string) (io.ReadCloser, error)
	edits    *edits.List
}

// told is what a made job hands to the page and the report.
func (m *making) told(base string) told {
	t := told{
		base: base, name: m.job.Name, edits: m.job.Edits, timeline: m.line(), warnings: m.warnings, made: m.made, burned: len(m.videos) > 0 && m.job.Sheet.Captions.Show == "all",
		log: m.isThere(logName), still: map[string]string{},
		open: func(name string) (io.ReadCloser, error) { return m.shelf.Folder.Open(name[len(base):]) },
	}
	for name, sum := range m.shelf.Wanted {
		t.still[base+name] = sum
	}
	film := func(name string, from, to timecode.Video) {
		t.films = append(t.films, page.Film{File: base + name, From: from.Seconds(), Cues: subtitles.Cues(m.placed.Timeline, m.lang, from, to)})
	}
	for _, v := range m.videos {
		film(v.name, v.from, v.to)
	}
	if len(m.videos) > 0 {
		return t
	}
	for _, a := range m.filmed {
		if m.isThere(a.name) {
			film(a.name, a.from, a.to)
		}
	}
	return t
}

// A customer writes the page and the report over the pushes of a job or a visit.
type customer struct {
	shelf  *shelf.Shelf
	wants  map[string]bool
	logo   *logo
	pushes []told
	sheet  customerSheet

	editions *editions
	sums     map[string]string // of a visit's pushes; nil for a single job
}

// customerSheet is what the first push's sheet says of the whole.
type customerSheet struct {
	language *words.Language
	letter   bool // US letter, where lengths are shown in feet
}

// write brings the report and the page up to date. The report is first, since the
// page names it.
func (c *customer) write(ctx context.Context) error {
	if len(c.pushes) == 0 {
		return nil
	}
	in := account.Input{Language: c.sheet.language}
	for _, p := range c.pushes {
		in.Pushes = append(in.Pushes, account.Push{Name: p.name, Base: p.base, Timeline: p.timeline, Warnings: p.warnings, Made: p.made, Log: p.log})
	}
	var err error
	if in.Edition, err = c.editions.of(c, in); err != nil {
		return err
	}
	if err := c.writeReport(ctx, in); err != nil {
		return err
	}
	if c.shelf.Wanted[reportName] != "" {
		in.Report = reportName
	}
	return c.writePage(ctx, in)
}

func (c *customer) page(in account.Input) ([]byte, error) {
	p := page.Input{Account: account.Of(in), Logo: c.logo.bytes()}
	for _, push := range c.pushes {
		p.Films = append(p.Films, push.films)
		p.Burned = append(p.Burned, push.burned)
	}
	var b bytes.Buffer
	if err := page.Write(&b, p); err != nil {
		return nil, fmt.Errorf("writing the page: %w", err)
	}
	return b.Bytes(), nil
}

func (c *customer) writePage(ctx context.Context, in account.Input) error {
	text, err := c.page(in)
	if err != nil {
		return err
	}
	if !c.wants["page"] { // kept where it is still right
		_, err := c.shelf.Has(ctx, pageName, shelf.SumOf(text))
		return err
	}
	return c.shelf.Text(ctx, pageName, text)
}

func (c *customer) writeReport(ctx context.Context, in account.Input) error {
	told := account.Of(in)
	key := c.reportKey(told)
	if have, err := c.shelf.Has(ctx, reportName, key); have || err != nil || !c.wants["report"] {
		return err
	}
	tmp := c.shelf.Temp.At(reportName)
	err := c.shelf.Temp.Write(reportName, func(w io.Writer) error { // as long as all its pictures: never whole in memory twice
		return report.Write(w, report.Input{
			Account: told, Letter: c.sheet.letter, Made: c.day(), Logo: c.logo.bytes(), Picture: c.open,
		})
	})
	if err != nil {
		return trouble.Writing(tmp, fmt.Errorf("writing the report: %w", err))
	}
	return c.shelf.Publish(ctx, shelf.Piece{Name: reportName, Key: key, Temp: tmp})
}

// reportKey is all that the report shows: its words and its pictures.
func (c *customer) reportKey(a *account.Account) string {
	bare := *a
	bare.Language = nil
	parts := []any{"report", version, c.sheet.language.Tag, c.sheet.letter, c.day(), shelf.SumOf(c.logo.bytes()), bare}
	for _, p := range c.pushes {
		for _, name := range picturesOf(p) {
			parts = append(parts, name, p.still[name])
		}
	}
	return shelf.KeyOf(parts...)
}

// version changes when the same words come to be set otherwise.
const version = 6

// picturesOf lists the pictures that a report of the push shows.
func picturesOf(p told) []string {
	var all []string
	add := func(names ...string) {
		for _, name := range names {
			all = append(all, p.base+name)
		}
	}
	for _, o := range p.timeline.Observations {
		if still, ok := p.made.Stills[o.Row]; ok {
			add(still.File)
		}
		add(p.made.Photos[o.Row]...)
	}
	for _, u := range p.timeline.Unplaced {
		add(p.made.Photos[u.Row]...)
	}
	add(p.made.Photos[0]...)
	return all
}

func (c *customer) open(name string) (io.ReadCloser, error) {
	for _, p := range c.pushes {
		if _, ok := p.still[name]; ok {
			return p.open(name)
		}
	}
	return nil, fmt.Errorf("there is no picture %s", name)
}

// day is the date that the report carries: the job's, else that of the first
// observation, so that the same input gives the same bytes on any day.
func (c *customer) day() time.Time {
	for _, p := range c.pushes {
		if d := p.timeline.Sheet.Job.Date; d.Year != 0 {
			return time.Date(d.Year, d.Month, d.Day, 0, 0, 0, 0, time.UTC)
		}
		for _, o := range p.timeline.Observations {
			if o.TrueTime != nil {
				return o.TrueTime.UTC().Truncate(24 * time.Hour)
			}
		}
	}
	return time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
}

// customerSheet is what the sheet of a made job says of the page and the report.
func (m *making) customerSheet() customerSheet {
	return customerSheet{language: m.lang, letter: m.job.Sheet.Job.Units == distance.Foot}
}

// sayCustomer says what of page and report is being written.
func (m *making) sayCustomer() {
	switch page, report := m.wants["page"], m.wants["report"]; {
	case page && report:
		m.progress.Step(words.Tell("writing page and report"), 0)
	case page:
		m.progress.Step(words.Tell("writing the page"), 0)
	case report:
		m.progress.Step(words.Tell("writing the report"), 0)
	}
}

// tellCustomer writes the one page and the one report of a visit above the folders
// of its pushes.
func tellCustomer(ctx context.Context, v *job.Visit, g *ground, made []*making, r *Result, sums map[string]string) error {
	if !v.Many {
		return nil
	}
	first := made[0]
	f, err := folderOf(v, v.Out, v.Work, g)
	if err != nil {
		return err
	}
	for _, m := range made {
		f.Passed = append(f.Passed, filepath.Base(m.job.Out))
	}
	firm, warning := readLogo(first.job)
	if warning != nil {
		r.Warnings = append(r.Warnings, *warning)
	}
	c := customer{shelf: f, wants: first.wants, logo: firm, sheet: first.customerSheet(), editions: g.editions, sums: sums}
	for _, m := range made {
		c.pushes = append(c.pushes, m.told(filepath.Base(m.job.Out)+"/"))
	}
	first.sayCustomer()
	if err := c.write(ctx); err != nil {
		return err
	}
	if err := f.Clear(ctx); err != nil {
		return err
	}
	r.Made, r.Kept, r.Removed, r.Foreign = append(r.Made, f.Made...), append(r.Kept, f.Kept...), append(r.Removed, f.Removed...), append(r.Foreign, f.Foreign...)
	r.Warnings = append(r.Warnings, f.Warnings...)
	for name, sum := range f.Wanted {
		sums[name] = sum
	}
	return f.Record.Compact()
}
