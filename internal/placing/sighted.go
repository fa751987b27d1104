package placing

import (
	"context"
	"path/filepath"

	"pushcue/frames"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/job"
	"pushcue/internal/placing/sighting"
	"pushcue/internal/progress"
	"pushcue/internal/shelf"
	"pushcue/internal/trouble"
	"pushcue/timeline"
	"pushcue/timeline/codes"
	"pushcue/timeline/words"
)

// A watcher looks at the pictures of one job.
type watcher struct {
	tools    *ffmpeg.Tools
	job      *job.Job
	rec      *frames.Recording
	progress progress.Progress
	sums     *job.Sums
	quick    bool // take what is kept, and look at nothing
	counted  bool // the table of frames comes from decoding
}

// watch is the watcher's, of the recording's files as they are now.
func (w *watcher) watch(ctx context.Context) (*sighting.Watch, error) {
	var sums []string
	for _, v := range w.job.Videos {
		sum, err := w.sums.Sum(ctx, w.job, v, func(int) {})
		if err != nil {
			return nil, err
		}
		sums = append(sums, sum)
	}
	s := w.job.Seal()
	return &sighting.Watch{
		SealOver: func(text []byte) string { return s.Over("seen", text) },
		Seal:     func(mac string, text []byte) bool { return s.Holds(mac, "seen", text) },
		Tools:    w.tools, Recording: w.rec, Sheet: w.job.Sheet, Of: shelf.KeyOf("pictures", sums, w.counted),
		Work: w.job.Work, Top: w.job.Top, Progress: w.progress, Quick: w.quick,
	}, nil
}

// wantsPictures tells whether the counter is to be looked for: not where nobody wants
// it, or the readings are there already.
func wantsPictures(j *job.Job) bool {
	look := j.Sheet.Counter.Look
	return look != "off" && (j.Readings == nil || look == "box")
}

// look reads what is written on the pictures; what it leaves unread it says.
func (p *Placed) look(ctx context.Context, w *watcher) (unread []timeline.Warning, err error) {
	if !wantsPictures(p.Job) {
		return nil, nil
	}
	watch, err := w.watch(ctx)
	if err != nil {
		return nil, job.Shortened(err)
	}
	p.watch = watch
	p.Seen, unread, err = watch.Look(ctx)
	if cause := watch.Unkept(); cause != nil {
		unread = append(unread, timeline.Warning{Code: codes.CounterUnkept,
			Text: words.Tell("what was read off the pictures can't be kept, so it's read again each time and no sheet shows it: %s: %s", fromTop(p.Job, p.Job.Work), trouble.PlainCause(cause)),
			Hint: words.Tell("copy the job folder to a disk that can be written to, or name a handover folder elsewhere with --out")})
	}
	return unread, err
}

// confirming makes the sheet by which a person confirms the counter, and tells
// where it lies. A sheet that can't be made leaves the person without it, and the
// job as it is.
func (p *Placed) confirming(ctx context.Context) error {
	if p.Seen == nil {
		return nil
	}
	path, err := p.watch.Confirm(ctx, p.Seen, sighting.Job{
		Name: p.Job.Name, SheetName: filepath.Base(p.Job.SheetName()), Resets: p.Timeline.Track.Resets(),
	})
	hint := words.Tell("hold a few rows, as check --why ROW tells them, against the recording; if they are right, write confirmed = true under [counter]")
	if err == nil && path != "" {
		p.CounterSheet = path
		hint = words.Tell("look at %s; if it shows what was read, write confirmed = true under [counter]", fromTop(p.Job, path))
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
func fromTop(j *job.Job, path string) string {
	if rel, err := filepath.Rel(filepath.Dir(j.Top), path); err == nil {
		return filepath.ToSlash(rel)
	}
	return path
}

// Unlooked tells that the pictures weren't looked at, and nothing is kept of them, since
// quick was asked for.
func (p *Placed) Unlooked() bool { return p.watch != nil && p.watch.Quick && p.Seen == nil }

// HasCounter tells whether a counter was read off the pictures.
func (p *Placed) HasCounter() bool { return len(p.Seen.Counters()) > 0 }

// A CounterRead is what the page shows of the on-screen counter.
type CounterRead struct {
	Box      [4]int // x, y, w, h in pixels of the picture shown
	Unit     string
	Readings int
}

// CounterRead is the counter that was read; false where there is none.
func (p *Placed) CounterRead() (c CounterRead, ok bool) {
	for _, g := range p.Seen.Counters() {
		box := p.Recording.Shown(g.Parts[0], g.Counter.Box)
		unit, _ := g.Counter.ShownIn(p.Job.Sheet)
		c.Readings += len(g.Counter.Samples)
		if !ok {
			c.Box, c.Unit, ok = [4]int{box.Min.X, box.Min.Y, box.Dx(), box.Dy()}, string(unit), true
		}
	}
	return c, ok
}
