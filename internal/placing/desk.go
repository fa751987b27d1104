package placing

import (
	"context"
	"errors"
	"path/filepath"
	"reflect"
	"slices"

	"pushcue/frames"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/job"
	"pushcue/internal/placing/sighting"
	"pushcue/internal/progress"
	"pushcue/internal/safefile"
	"pushcue/internal/shelf"
	"pushcue/internal/trouble"
	"pushcue/timeline"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// A Desk is where a job lies open while a person corrects it: what its files say is
// kept, so that a correction is placed at once. One at a time may use it.
type Desk struct {
	tools     *ffmpeg.Tools
	Recording *frames.Recording // nil until it was opened
	Videos    []job.Source

	read   *inputs // as the files were when last read
	asked  fieldlog.Options
	stamps []job.Stamp

	seen   *sighting.Seen // what was read off the pictures; nil before
	looked string
	extra  []timeline.Warning // of what was left unread on the pictures
	beside *Material          // nil before
}

// NewDesk is an empty one.
func NewDesk(tools *ffmpeg.Tools) *Desk { return &Desk{tools: tools} }

// Open opens the job's recording at first sight, unless it is open already: see
// frames.Options.Quick.
func (d *Desk) Open(ctx context.Context, j *job.Job) error {
	if d.Recording != nil && slices.Equal(d.Videos, j.Videos) {
		return nil
	}
	rec, err := openRecording(ctx, j, d.tools, frames.Options{Quick: true})
	if err != nil {
		return job.Shortened(err)
	}
	d.Lay(j, rec)
	return nil
}

// Forget has Open read the recording anew, whose files have changed under their names.
func (d *Desk) Forget() { d.Videos = nil }

// Lay puts a job's opened recording onto the desk.
func (d *Desk) Lay(j *job.Job, rec *frames.Recording) {
	d.Recording, d.Videos, d.seen, d.looked = rec, slices.Clone(j.Videos), nil, ""
}

// ReadThrough makes up for what Open left out, which takes as long as reading the
// job's files: it opens a recording anew, and reports whether anything is other than it
// was at first sight. It doesn't touch the desk until Lay.
func (d *Desk) ReadThrough(ctx context.Context, j *job.Job, before *frames.Recording) (rec *frames.Recording, other bool, err error) {
	if rec, err = openRecording(ctx, j, d.tools, frames.Options{}); err != nil {
		return nil, false, job.Shortened(err)
	}
	other = !slices.Equal(rec.Times, before.Times) || !slices.EqualFunc(rec.Parts, before.Parts, func(a, b frames.Part) bool { return a.Damage.Equal(b.Damage) && (a.Sound == nil) == (b.Sound == nil) })
	return rec, other, nil
}

// Place places the job as it is corrected. Open must have gone before. It reads only
// what has changed on disk, and looks at no picture: Look does. Inputs that can't be
// used, or leave something to ask, are a fault.List.
func (d *Desk) Place(ctx context.Context, j *job.Job) (*Placed, error) {
	in, err := d.inputs(ctx, j)
	if err != nil {
		return nil, err
	}
	p := &Placed{Job: j, Recording: d.Recording, Inputs: in, Seen: d.seenOf(ctx, j)}
	if err := p.Resolve(ctx, in, nil); err != nil {
		return nil, err
	}
	p.Warnings = slices.Concat(p.Warnings, d.extra)
	if d.Listened(j) {
		p.Attach(d.beside)
	}
	if sheet := filepath.Join(j.Work, sighting.SheetName); p.HasCounter() && job.IsFile(sheet) {
		p.CounterSheet = sheet
	}
	return p, nil
}

// inputs are what the job's files say, read anew where they or what is said of them
// have changed.
func (d *Desk) inputs(ctx context.Context, j *job.Job) (*inputs, error) {
	options := logOptions(j, "")
	var now []job.Stamp
	for _, s := range []*job.Source{j.Log, j.Kinds, j.Readings} {
		one := job.Stamp{}
		if s != nil {
			one = job.StampOf(s.Path)
		}
		now = append(now, one)
	}
	if d.read != nil && len(j.Asked) == 0 && slices.Equal(now, d.stamps) && reflect.DeepEqual(options, d.asked) {
		in := *d.read
		in.Sheet = j.Sheet
		return &in, nil
	}
	in, err := ReadInputs(ctx, j)
	if err != nil {
		return nil, err
	}
	d.read, d.stamps, d.asked = in, now, options
	return in, nil
}

// seenOf is what was read off the pictures for what the job's sheet asks; nil where
// they must be looked at anew.
func (d *Desk) seenOf(ctx context.Context, j *job.Job) *sighting.Seen {
	w := d.watcher(j, d.Recording, nil)
	for _, v := range j.Videos {
		if !w.sums.Knows(v) {
			return nil
		}
	}
	w.quick = true
	watch, err := w.watch(ctx)
	if err != nil || !wantsPictures(j) {
		return nil
	}
	if key := watch.Key(); d.seen == nil || d.looked != key {
		d.looked = key
		d.seen, _, _ = watch.Look(ctx)
	}
	return d.seen
}

func (d *Desk) watcher(j *job.Job, rec *frames.Recording, say progress.Progress) *watcher {
	if say == nil {
		say = progress.Quiet{}
	}
	return &watcher{tools: d.tools, job: j, rec: rec, progress: say, sums: job.ReadSums(j.Top, j.Seal())}
}

// Look reads what is written on the recording's pictures, which takes as long as
// decoding them, and makes the sheet by which a person confirms it. Place knows of it
// afterwards. p is a job that Place has placed. It doesn't touch the desk until Take, so
// that others may use it meanwhile.
func (d *Desk) Look(ctx context.Context, p *Placed, progress progress.Progress) (Looked, error) {
	w := d.watcher(p.Job, p.Recording, progress)
	work, err := p.Job.OpenWork()
	if err != nil {
		return Looked{}, trouble.Writing(p.Job.Work, err)
	}
	work.Close()
	l := Looked{}
	fresh := &Placed{Job: p.Job, Recording: p.Recording, Timeline: p.Timeline}
	unread, err := fresh.look(ctx, w)
	w.sums.Keep()
	if err != nil {
		return l, err
	}
	if fresh.Seen != nil {
		if err := fresh.Resolve(ctx, p.Inputs, nil); err == nil && fresh.Timeline.StandsWouldHelp() {
			if err := fresh.watch.FindStands(ctx, fresh.Seen); err != nil {
				return l, err
			}
		}
		fresh.Warnings = nil
	}
	l.extra = unread
	if fresh.watch != nil {
		l.seen, l.key = fresh.Seen, fresh.watch.Key()
	}
	return l, fresh.confirming(ctx)
}

// Looked is what Look found.
type Looked struct {
	seen  *sighting.Seen
	key   string
	extra []timeline.Warning
}

// Take lays what was found onto the desk.
func (d *Desk) Take(l Looked) { d.seen, d.looked, d.extra = l.seen, l.key, l.extra }

// Listen asks a job's spoken notes and photos what they are. Place joins them to the
// rows afterwards. It doesn't touch the desk until Heard.
func (d *Desk) Listen(ctx context.Context, j *job.Job) (*Material, error) {
	return LookBeside(ctx, j, d.tools)
}

// Heard lays what Listen found onto the desk.
func (d *Desk) Heard(m *Material) { d.beside = m }

// Listened tells whether Listen has been told of the job's notes and photos as they are now.
func (d *Desk) Listened(j *job.Job) bool {
	return d.beside != nil && slices.Equal(d.beside.of, j.BesideStamps())
}

// Hold keeps a second program from looking over the same visit. It fails with
// *trouble.Trouble while one does; a folder that can't be written to is held by nobody.
func Hold(v *job.Visit) (release func(), err error) {
	work, err := safefile.MakeWithin(v.Work, v.Work, v.Protected())
	if errors.Is(err, safefile.ErrLink) {
		return nil, trouble.Writing(v.Work, err)
	}
	if err != nil {
		return func() {}, nil
	}
	defer work.Close()
	held, err := shelf.LockNamed(work, "review-lock", words.Tell("%s is being looked over in another pushcue", filepath.Dir(v.Work)), words.Tell("use the page that is open already, or end that one first"))
	var trouble *trouble.Trouble
	if errors.As(err, &trouble) && !trouble.Held {
		return func() {}, nil
	}
	if err != nil {
		return nil, err
	}
	return held.Release, nil
}

// Options are what the job's log was read with, for what a person types.
func (d *Desk) Options(j *job.Job) fieldlog.Options {
	if d.read != nil {
		return d.read.options
	}
	return logOptions(j, "")
}

// Written is the log as it stands, without any correction; nil without one.
func (d *Desk) Written() *fieldlog.Log {
	if d.read == nil {
		return nil
	}
	return d.read.Log
}

// Frame is the time of a frame of the recording; false where there is none.
func (d *Desk) Frame(n int) (timecode.Video, bool) {
	if d.Recording == nil || n < 0 || n >= len(d.Recording.Times) {
		return 0, false
	}
	return d.Recording.Times[n], true
}
