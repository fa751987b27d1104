package handover

import (
	"context"
	"errors"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"

	"pushcue/frames"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/job"
	"pushcue/internal/placing"
	"pushcue/internal/progress"
	"pushcue/internal/shelf"
	"pushcue/internal/trouble"
	"pushcue/timeline/words"
)

// Check refuses options that name what there isn't. Its errors are *trouble.Refusal.
func (o Options) Check() error {
	for _, kind := range slices.Concat(o.Only, o.Skip) {
		if !slices.Contains(Kinds, kind) {
			return &trouble.Refusal{Text: words.Tell("there is no kind of thing to make called %q", kind), Hint: words.Tell("there are: %s", strings.Join(Kinds, ", "))}
		}
	}
	if o.For != "" && o.For != job.ForBuyer {
		return &trouble.Refusal{Text: words.Tell("a handover can't be made for %q", o.For), Hint: words.Tell("--for takes: buyer")}
	}
	if len(o.wants()) == 0 {
		return &trouble.Refusal{Text: words.Tell("nothing is left to be made"), Hint: words.Tell("name in --only what you want, and leave --skip out")}
	}
	return nil
}

// wants is the set of kinds to be made.
func (o Options) wants() map[string]bool {
	w := map[string]bool{}
	for _, kind := range Kinds {
		if (len(o.Only) == 0 || slices.Contains(o.Only, kind)) && !slices.Contains(o.Skip, kind) {
			w[kind] = true
		}
	}
	return w
}

// Make brings the handover of each job of a visit up to date. ctx stops it at any
// moment; what was finished by then is kept. Errors are fault.List for inputs
// that can't be used, *ffmpeg.Error, *trouble.Trouble, *trouble.Refusal, or ctx's own.
func Make(ctx context.Context, tools *ffmpeg.Tools, v *job.Visit, o Options, p progress.Progress) (*Result, error) {
	if err := o.Check(); err != nil {
		return nil, err
	}
	if p == nil {
		p = progress.Quiet{}
	}
	result, err := makeVisit(ctx, v, tools, o, p)
	if err != nil && ctx.Err() != nil {
		return nil, ctx.Err()
	}
	return result, trouble.NoRoom(v.Work, err)
}

func makeVisit(ctx context.Context, v *job.Visit, tools *ffmpeg.Tools, o Options, p progress.Progress) (*Result, error) {
	g, err := openGround(v)
	if err != nil {
		return nil, err
	}
	defer g.close()

	if g.editions, err = readEditions(v, g, o.For); err != nil {
		return nil, err
	}

	result := &Result{Out: v.Out}
	all := map[string]string{}
	sums := job.ReadSums(v.Work, v.Jobs[0].Seal())
	var made []*making
	for _, j := range v.Jobs {
		m := &making{tools: tools, job: j, opts: o, wants: o.wants(), progress: p, editions: g.editions, sums: sums, many: v.Many}
		if m.shelf, err = folderOf(v, j.Out, j.Work, g); err != nil {
			return nil, err
		}
		if err := errors.Join(m.run(ctx), sums.Save()); err != nil {
			return nil, err
		}
		m.report(v, result, all)
		made = append(made, m)
	}
	if err := tellCustomer(ctx, v, g, made, result, all); err != nil {
		return nil, err
	}
	list, err := writeSums(all, g)
	if err != nil {
		return nil, err
	}
	if err := g.editions.made(list); err != nil {
		return nil, err
	}
	return result, keepInputs(v, g.work)
}

// folderOf opens a job's handover folder and reads what is known of it.
func folderOf(v *job.Visit, outDir, workDir string, g *ground) (*shelf.Shelf, error) {
	out, work, err := g.of(v, outDir, workDir)
	if err != nil {
		return nil, err
	}
	r, err := shelf.ReadRecord(work, filepath.Base(v.Out)+".record", out, v.Jobs[0].Seal())
	if err != nil {
		return nil, err
	}
	if err := r.Compact(); err != nil {
		return nil, err
	}
	closed := func() error {
		if err := g.out.Remove(shelf.SumsName); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return trouble.Writing(g.out.At(shelf.SumsName), err)
		}
		return nil
	}
	f := &shelf.Shelf{Folder: out, Temp: g.tmp.Folder, Record: r, Closed: closed}
	f.Begin()
	return f, nil
}

// run brings one job's handover up to date.
func (m *making) run(ctx context.Context) error {
	release, err := m.job.Hold()
	if err != nil {
		return err
	}
	defer release()
	m.shelf.Same = m.job.Unchanged
	if err := m.sumSources(ctx); err != nil {
		return err
	}
	for {
		err := m.once(ctx)
		switch {
		case errors.Is(err, frames.ErrCount) && m.slow:
			return &ffmpeg.Error{
				Text: words.Tell("ffmpeg gives other pictures each time it reads the recording: %s", err),
				Hint: words.Tell("install another build of ffmpeg, 5.1 or newer, and try again"), Err: err,
			}
		case errors.Is(err, frames.ErrCount):
			// The packets of the recording tell another number of frames than decoding gives.
			m.progress.Say(words.Tell("%s; its frames are counted by decoding it", err))
			m.slow = true
			continue
		case err != nil:
			return err
		}
		if err := m.shelf.Clear(ctx); err != nil {
			return err
		}
		return m.shelf.Record.Compact()
	}
}

// once places the job and makes all its products.
func (m *making) once(ctx context.Context) error {
	m.shelf.Begin()
	m.progress.Step(words.Tell("reading the recording"), 0)
	placed, err := placing.Place(ctx, m.tools, m.job, placing.PlaceOptions{Progress: m.progress, Quick: m.opts.Quick, Decode: m.slow, Sums: m.sums})
	if err != nil {
		return err
	}
	if err := m.begin(placed); err != nil {
		return err
	}
	if m.encoding, err = m.chooseEncoding(ctx); err != nil {
		return err
	}
	m.progress.Say(m.encoding.sentence())
	all := products(m)
	for _, p := range all {
		if err := p.plan(ctx); err != nil {
			return err
		}
	}
	if err := m.checkRoom(); err != nil {
		return err
	}
	b := &burn{rec: placed.Recording, encoder: m.tools.Encoder, setting: m.encoding.setting, patience: m.opts.Patience, bytes: m.job.RecordedBytes()}
	for _, p := range all {
		if err := p.join(b); err != nil {
			return err
		}
	}
	if err := b.run(ctx, m.tools, m.shelf.Temp.Path(), m.progress); err != nil {
		return err
	}
	for _, p := range all {
		if err := p.finish(ctx); err != nil {
			return err
		}
	}
	return nil
}

// checkRoom looks for room on the disk before hours of work are spent. What a run
// needs is guessed from the recording: the burn may be half as large again, lies
// on the disk once while it waits, and stills and clips come on top.
func (m *making) checkRoom() error {
	free, err := trouble.FreeBytes(m.shelf.Temp.Path())
	if err != nil || free >= m.need {
		return nil // a disk that doesn't tell may have room
	}
	return &trouble.Trouble{
		Text: words.Tell("there isn't room enough for the handover: about %s is needed, %s is free", gigabytes(m.need), gigabytes(free)),
		Hint: words.Tell("make room, or name a folder on another disk with --out"),
	}
}

func gigabytes(n int64) words.Sentence {
	if n < 1<<30 {
		return words.Plain("%.0f MB", float64(n)/1e6)
	}
	return words.Plain("%.1f GB", float64(n)/1e9)
}

// report adds what was done to the visit's result.
func (m *making) report(v *job.Visit, r *Result, sums map[string]string) {
	prefix := ""
	if v.Many {
		prefix = filepath.Base(m.job.Out) + "/"
	}
	named := func(names []string) []string {
		slices.Sort(names)
		out := make([]string, len(names))
		for i, n := range names {
			out[i] = prefix + n
		}
		return out
	}
	r.Made = append(r.Made, named(m.shelf.Made)...)
	r.Kept = append(r.Kept, named(m.shelf.Kept)...)
	r.Removed = append(r.Removed, named(m.shelf.Removed)...)
	r.Foreign = append(r.Foreign, named(m.shelf.Foreign)...)
	r.Warnings = slices.Concat(r.Warnings, m.warnings, m.shelf.Warnings)
	r.Placed = append(r.Placed, m.placed)
	for name, sum := range m.shelf.Wanted {
		sums[prefix+name] = sum
	}
}

// writeSums writes the list of sums, last of all, unless it says so already, and returns its
// own sum.
func writeSums(sums map[string]string, g *ground) (string, error) {
	text, err := shelf.SumsText(sums)
	if err != nil {
		return "", err
	}
	if old, err := g.out.ReadFile(shelf.SumsName, int64(len(text))); err == nil && string(old) == string(text) {
		return shelf.SumOf(text), nil
	}
	if err := g.tmp.WriteBytes(shelf.SumsName, text); err != nil {
		return "", trouble.Writing(g.tmp.At(shelf.SumsName), err)
	}
	return shelf.SumOf(text), trouble.Writing(g.out.At(shelf.SumsName), g.tmp.Move(shelf.SumsName, g.out, shelf.SumsName))
}
