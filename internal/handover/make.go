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
	"pushcue/internal/handover/account"
	"pushcue/internal/handover/spoken"
	"pushcue/internal/job"
	"pushcue/internal/placing"
	"pushcue/internal/progress"
	"pushcue/internal/shelf"
	"pushcue/internal/trouble"
	"pushcue/overlay"
	"pushcue/timeline"
	"pushcue/timeline/words"
)

// Check refuses options that name what there isn't. Its errors are *Refusal.
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

// A maker makes the handover of one job.
type maker struct {
	tools    *ffmpeg.Tools
	job      *job.Job
	opts     Options
	wants    map[string]bool // kinds
	progress progress.Progress
	folder   *shelf.Shelf
	ground   *ground
	tmp      string // where unfinished files wait
	sums     *job.Sums
	slow     bool // the table of frames comes from decoding

	placed   *placing.Placed
	lang     *words.Language
	base     string            // name of the captioned video, without its ending
	sourceOf map[string]string // SHA-256 of each source, by path
	warnings []timeline.Warning

	videoLayout, findingsLayout, stillLayout *overlay.Layout
	stills                                   []wantedStill
	clips                                    []wantedClip
	findings                                 overlay.Findings
	videoKey, findingsKey                    string
	videoTodo, findingsTodo                  bool
	notes                                    []wantedNote
	listening                                bool
	narrations                               []narration
	holds                                    []spoken.Hold // in findings.mp4
	photos                                   []wantedPhoto
	videos                                   []part // of the captioned video as it lies in the handover
	sidecars                                 []string
	asFilmed                                 []asFilmed

	many bool // one push of a visit
	made account.Made
}

// Make brings the handover of each job of a visit up to date. ctx stops it at any
// moment; what was finished by then is kept. Errors are fault.List for inputs
// that can't be used, *ffmpeg.Error, *Trouble, *Refusal, or ctx's own.
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
	var made []*maker
	for _, job := range v.Jobs {
		m := &maker{tools: tools, job: job, opts: o, wants: o.wants(), progress: p, ground: g, tmp: g.tmp.Path(), sums: sums, many: v.Many}
		if m.folder, err = folderOf(v, job.Out, job.Work, g); err != nil {
			return nil, err
		}
		if err := errors.Join(m.make(ctx), sums.Save()); err != nil {
			return nil, err
		}
		m.tell(v, result, all)
		made = append(made, m)
	}
	if err := tellCustomer(ctx, v, made, result, all); err != nil {
		return nil, err
	}
	list, err := writeSums(v, all, g)
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

// make brings one job's handover up to date.
func (m *maker) make(ctx context.Context) error {
	release, err := m.job.Hold()
	if err != nil {
		return err
	}
	defer release()
	m.folder.Same = m.job.Unchanged
	if err := m.sumSources(ctx); err != nil {
		return err
	}
	if err := m.burnt(ctx); err != nil {
		return err
	}
	for _, step := range []func(context.Context) error{
		m.narrate, m.contactSheet, m.makePhotos, m.copyAsFilmed, m.writeSidecars, m.writeLog, m.writeTimeline, m.tellCustomer, m.folder.Clear,
	} {
		if err := step(ctx); err != nil {
			return err
		}
	}
	return m.folder.Record.Compact()
}

// burnt places the job and makes what comes out of the recording's pictures. Where
// the packets of the recording turn out to tell another number of frames than
// decoding gives, all of it is done once more by what decoding gives.
func (m *maker) burnt(ctx context.Context) error {
	for {
		m.folder.Begin()
		m.progress.Step(words.Tell("reading the recording"), 0)
		var err error
		if m.placed, err = placing.Place(ctx, m.tools, m.job, placing.PlaceOptions{Progress: m.progress, Quick: m.opts.Quick, Decode: m.slow, Sums: m.sums}); err != nil {
			return err
		}
		if err := m.plan(ctx); err != nil {
			return err
		}
		err = m.run(ctx)
		switch {
		case !errors.Is(err, frames.ErrCount):
			return err
		case m.slow:
			return &ffmpeg.Error{
				Text: words.Tell("ffmpeg gives other pictures each time it reads the recording: %s", err),
				Hint: words.Tell("install another build of ffmpeg, 5.1 or newer, and try again"), Err: err,
			}
		}
		m.progress.Say(words.Tell("%s; its frames are counted by decoding it", err))
		m.slow = true
	}
}

// tell adds what was done to the visit's result.
func (m *maker) tell(v *job.Visit, r *Result, sums map[string]string) {
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
	r.Made = append(r.Made, named(m.folder.Made)...)
	r.Kept = append(r.Kept, named(m.folder.Kept)...)
	r.Removed = append(r.Removed, named(m.folder.Removed)...)
	r.Foreign = append(r.Foreign, named(m.folder.Foreign)...)
	r.Warnings = slices.Concat(r.Warnings, m.warnings, m.folder.Warnings)
	r.Placed = append(r.Placed, m.placed)
	for name, sum := range m.folder.Wanted {
		sums[prefix+name] = sum
	}
}

// writeSums writes the list of sums, last of all, unless it says so already, and returns its
// own sum.
func writeSums(v *job.Visit, sums map[string]string, g *ground) (string, error) {
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
