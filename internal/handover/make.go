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
	"pushcue/overlay"
	"pushcue/timeline"
	"pushcue/timeline/words"
)

const forBuyer = "buyer"

// Check refuses options that name what there isn't. Its errors are *Refusal.
func (o Options) Check() error {
	for _, kind := range slices.Concat(o.Only, o.Skip) {
		if !slices.Contains(Kinds, kind) {
			return &Refusal{Text: words.Tell("there is no kind of thing to make called %q", kind), Hint: words.Tell("there are: %s", strings.Join(Kinds, ", "))}
		}
	}
	if o.For != "" && o.For != forBuyer {
		return &Refusal{Text: words.Tell("a handover can't be made for %q", o.For), Hint: words.Tell("--for takes: buyer")}
	}
	if len(o.wants()) == 0 {
		return &Refusal{Text: words.Tell("nothing is left to be made"), Hint: words.Tell("name in --only what you want, and leave --skip out")}
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
	job      *Job
	opts     Options
	wants    map[string]bool // kinds
	progress Progress
	folder   *folder
	ground   *ground
	tmp      string // where unfinished files wait
	sums     *sourceSums
	slow     bool // the table of frames comes from decoding

	placed   *Placed
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
func Make(ctx context.Context, tools *ffmpeg.Tools, v *Visit, o Options, p Progress) (*Result, error) {
	if err := o.Check(); err != nil {
		return nil, err
	}
	if p == nil {
		p = quiet{}
	}
	result, err := v.make(ctx, tools, o, p)
	if err != nil && ctx.Err() != nil {
		return nil, ctx.Err()
	}
	return result, noRoom(v.Work, err)
}

func (v *Visit) make(ctx context.Context, tools *ffmpeg.Tools, o Options, p Progress) (*Result, error) {
	g, err := v.openGround()
	if err != nil {
		return nil, err
	}
	defer g.close()

	if g.editions, err = v.readEditions(g, o.For); err != nil {
		return nil, err
	}

	result := &Result{Out: v.Out}
	all := map[string]string{}
	sums := readSourceSums(v.Work, v.Jobs[0].seal())
	var made []*maker
	for _, job := range v.Jobs {
		m := &maker{tools: tools, job: job, opts: o, wants: o.wants(), progress: p, ground: g, tmp: g.tmp.Path(), sums: sums, many: v.Many}
		if m.folder, err = v.folderOf(job, g); err != nil {
			return nil, err
		}
		if err := errors.Join(m.make(ctx), sums.save()); err != nil {
			return nil, err
		}
		m.tell(v, result, all)
		made = append(made, m)
	}
	if err := v.tellCustomer(ctx, made, result, all); err != nil {
		return nil, err
	}
	list, err := v.writeSums(all, g)
	if err != nil {
		return nil, err
	}
	if err := g.editions.made(list); err != nil {
		return nil, err
	}
	return result, v.keepInputs(g.work)
}

// folderOf opens a job's handover folder and reads what is known of it.
func (v *Visit) folderOf(j *Job, g *ground) (*folder, error) {
	out, work, err := g.of(v, j)
	if err != nil {
		return nil, err
	}
	r, err := readRecord(work, filepath.Base(v.Out)+".record", out, v.Jobs[0].seal())
	if err != nil {
		return nil, err
	}
	if err := r.compact(); err != nil {
		return nil, err
	}
	closed := func() error {
		if err := g.out.Remove(sumsName); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return writing(g.out.At(sumsName), err)
		}
		return nil
	}
	f := &folder{out: out, tmp: g.tmp.Folder, record: r, closed: closed}
	f.begin()
	return f, nil
}

// make brings one job's handover up to date.
func (m *maker) make(ctx context.Context) error {
	release, err := m.job.hold()
	if err != nil {
		return err
	}
	defer release()
	m.folder.same = m.job.unchanged
	if err := m.sumSources(ctx); err != nil {
		return err
	}
	if err := m.burnt(ctx); err != nil {
		return err
	}
	for _, step := range []func(context.Context) error{
		m.narrate, m.contactSheet, m.makePhotos, m.copyAsFilmed, m.writeSidecars, m.writeLog, m.writeTimeline, m.tellCustomer, m.folder.clear,
	} {
		if err := step(ctx); err != nil {
			return err
		}
	}
	return m.folder.record.compact()
}

// burnt places the job and makes what comes out of the recording's pictures. Where
// the packets of the recording turn out to tell another number of frames than
// decoding gives, all of it is done once more by what decoding gives.
func (m *maker) burnt(ctx context.Context) error {
	for {
		m.folder.begin()
		m.progress.Step(words.Tell("reading the recording"), 0)
		var err error
		if m.placed, err = Place(ctx, m.tools, m.job, PlaceOptions{Progress: m.progress, Quick: m.opts.Quick, decode: m.slow, sums: m.sums}); err != nil {
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
func (m *maker) tell(v *Visit, r *Result, sums map[string]string) {
	prefix := ""
	if v.Many {
		prefix = filepath.Base(m.job.out) + "/"
	}
	named := func(names []string) []string {
		slices.Sort(names)
		out := make([]string, len(names))
		for i, n := range names {
			out[i] = prefix + n
		}
		return out
	}
	r.Made = append(r.Made, named(m.folder.made)...)
	r.Kept = append(r.Kept, named(m.folder.kept)...)
	r.Removed = append(r.Removed, named(m.folder.removed)...)
	r.Foreign = append(r.Foreign, named(m.folder.foreign)...)
	r.Warnings = slices.Concat(r.Warnings, m.warnings, m.folder.warnings)
	r.Placed = append(r.Placed, m.placed)
	for name, sum := range m.folder.wanted {
		sums[prefix+name] = sum
	}
}

// writeSums writes the list of sums, last of all, unless it says so already, and returns its
// own sum.
func (v *Visit) writeSums(sums map[string]string, g *ground) (string, error) {
	text, err := sumsText(sums)
	if err != nil {
		return "", err
	}
	if old, err := g.out.ReadFile(sumsName, int64(len(text))); err == nil && string(old) == string(text) {
		return sumOf(text), nil
	}
	if err := g.tmp.WriteBytes(sumsName, text); err != nil {
		return "", writing(g.tmp.At(sumsName), err)
	}
	return sumOf(text), writing(g.out.At(sumsName), g.tmp.Move(sumsName, g.out, sumsName))
}

type quiet struct{}

func (quiet) Step(words.Sentence, float64) {}
func (quiet) Advance(float64)              {}
func (quiet) Say(words.Sentence)           {}
