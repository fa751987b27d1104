package handover

import (
	"context"
	"path/filepath"

	"pushcue/frames"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/handover/sighting"
	"pushcue/timeline"
	"pushcue/timeline/codes"
	"pushcue/timeline/words"
)

// A watcher looks at the pictures of one job.
type watcher struct {
	tools    *ffmpeg.Tools
	job      *Job
	rec      *frames.Recording
	progress Progress
	sums     *sourceSums
	quick    bool // take what is kept, and look at nothing
	counted  bool // the table of frames comes from decoding
}

// watch is the watcher's, of the recording's files as they are now.
func (w *watcher) watch(ctx context.Context) (*sighting.Watch, error) {
	var sums []string
	for _, v := range w.job.Videos {
		sum, err := w.sums.sum(ctx, w.job, v, func(int) {})
		if err != nil {
			return nil, err
		}
		sums = append(sums, sum)
	}
	s := w.job.seal()
	return &sighting.Watch{
		SealOver: func(text []byte) string { return s.over("seen", text) },
		Seal:     func(mac string, text []byte) bool { return s.holds(mac, "seen", text) },
		Tools:    w.tools, Recording: w.rec, Sheet: w.job.Sheet, Of: keyOf("pictures", sums, w.counted),
		Work: w.job.work, Top: w.job.top, Progress: w.progress, Quick: w.quick,
	}, nil
}

// wantsPictures tells whether the counter is to be looked for: not where nobody wants
// it, or the readings are there already.
func (j *Job) wantsPictures() bool {
	look := j.Sheet.Counter.Look
	return look != "off" && (j.Readings == nil || look == "box")
}

// look reads what is written on the pictures; what it leaves unread it says.
func (p *Placed) look(ctx context.Context, w *watcher) (unread []timeline.Warning, err error) {
	if !p.Job.wantsPictures() {
		return nil, nil
	}
	watch, err := w.watch(ctx)
	if err != nil {
		return nil, shortened(err)
	}
	p.watch = watch
	p.seen, unread, err = watch.Look(ctx)
	if cause := watch.Unkept(); cause != nil {
		unread = append(unread, timeline.Warning{Code: codes.CounterUnkept,
			Text: words.Tell("what was read off the pictures can't be kept, so it's read again each time and no sheet shows it: %s: %s", p.Job.fromTop(p.Job.work), plainCause(cause)),
			Hint: words.Tell("copy the job folder to a disk that can be written to, or name a handover folder elsewhere with --out")})
	}
	return unread, err
}

// confirming makes the sheet by which a person confirms the counter, and tells
// where it lies. A sheet that can't be made leaves the person without it, and the
// job as it is.
func (p *Placed) confirming(ctx context.Context) error {
	if p.seen == nil {
		return nil
	}
	path, err := p.watch.Confirm(ctx, p.seen, sighting.Job{
		Name: p.Job.Name, SheetName: filepath.Base(p.Job.sheetName()), Resets: p.Timeline.Track.Resets(),
	})
	hint := words.Tell("hold a few rows, as check --why ROW tells them, against the recording; if they are right, write confirmed = true under [counter]")
	if err == nil && path != "" {
		p.CounterSheet = path
		hint = words.Tell("look at %s; if it shows what was read, write confirmed = true under [counter]", p.Job.fromTop(path))
	}
	for i := range p.Warnings {
		if p.Warnings[i].Code == codes.CounterUnconfirmed {
			p.Warnings[i].Hint = hint
		}
	}
	return ctx.Err()
}

// fromTop names one of our own files as seen from the folder that ours lies in, so
// that what is written down reads the same on every computer.
func (j *Job) fromTop(path string) string {
	if rel, err := filepath.Rel(filepath.Dir(j.top), path); err == nil {
		return filepath.ToSlash(rel)
	}
	return path
}

// Unlooked tells that the pictures weren't looked at, and nothing is kept of them, since
// quick was asked for.
func (p *Placed) Unlooked() bool { return p.watch != nil && p.watch.Quick && p.seen == nil }

// HasCounter tells whether a counter was read off the pictures.
func (p *Placed) HasCounter() bool { return len(p.seen.Counters()) > 0 }

// A CounterRead is what the page shows of the on-screen counter.
type CounterRead struct {
	Box      [4]int // x, y, w, h in pixels of the picture shown
	Unit     string
	Readings int
}

// CounterRead is the counter that was read; false where there is none.
func (p *Placed) CounterRead() (c CounterRead, ok bool) {
	for _, g := range p.seen.Counters() {
		box := p.Recording.Shown(g.Parts[0], g.Counter.Box)
		unit, _ := g.Counter.ShownIn(p.Job.Sheet)
		c.Readings += len(g.Counter.Samples)
		if !ok {
			c.Box, c.Unit, ok = [4]int{box.Min.X, box.Min.Y, box.Dx(), box.Dy()}, string(unit), true
		}
	}
	return c, ok
}
