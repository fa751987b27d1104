package handover

import (
	"context"
	"os"
	"slices"
	"strings"
	"time"

	"pushcue/frames"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/reach"
	"pushcue/timeline"
	"pushcue/timeline/codes"
	"pushcue/timeline/fault"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// PlaceOptions are how Place goes about it.
type PlaceOptions struct {
	Progress Progress // may be nil
	Quick    bool     // don't look at the pictures: what was read off them before is taken

	decode bool // the table of frames comes from decoding
	sums   *sourceSums
}

// Place reads a job's recording, log and readings, and places the log on the
// recording. What it reads off the pictures, which takes as long as decoding them,
// is kept in our own folder, with a sheet that shows it (Placed.CounterSheet);
// nothing else is written. Inputs that can't be used are a fault.List.
func Place(ctx context.Context, tools *ffmpeg.Tools, j *Job, o PlaceOptions) (*Placed, error) {
	if o.Progress == nil {
		o.Progress = quiet{}
	}
	if err := j.linkedWork(); err != nil {
		return nil, err
	}
	release, err := j.hold()
	if err != nil {
		return nil, err
	}
	defer release()
	if o.sums == nil {
		o.sums = readSourceSums(j.top, j.seal())
		defer o.sums.keep()
	}
	// The log is read first: what is wrong with it is told at once, not after a long
	// recording has been looked through.
	in, err := j.read(ctx)
	if err != nil {
		return nil, err
	}
	p := &Placed{Job: j}
	if p.Recording, err = j.record(ctx, tools, frames.Options{Decode: o.decode}); err != nil {
		return nil, err
	}
	w := &watcher{tools: tools, job: j, rec: p.Recording, progress: o.Progress, sums: o.sums, quick: o.Quick, counted: o.decode}
	unread, err := p.look(ctx, w)
	if err != nil {
		return nil, err
	}
	if err := p.resolve(ctx, in, unread); err != nil {
		return nil, err
	}
	if p.seen != nil && p.Timeline.StandsWouldHelp() {
		if err := p.watch.FindStands(ctx, p.seen); err != nil {
			return nil, err
		}
		if err := p.resolve(ctx, in, unread); err != nil {
			return nil, err
		}
	}
	if err := p.attached(ctx, tools); err != nil {
		return nil, err
	}
	return p, p.confirming(ctx)
}

// record opens the recording.
func (j *Job) record(ctx context.Context, tools *ffmpeg.Tools, o frames.Options) (*frames.Recording, error) {
	sources := make([]*reach.Source, len(j.Videos))
	for i, v := range j.Videos {
		sources[i] = j.Pinned(v)
	}
	return frames.Open(ctx, tools, sources, o)
}

// resolve places what was read on the recording.
func (p *Placed) resolve(ctx context.Context, in *inputs, unread []timeline.Warning) error {
	corrected := *in
	unfit, warnings := corrected.correct(p.Job)
	p.Unfit = unfit
	corrected.Recording, corrected.Readings = p.Recording.Timeline(), p.seen.Readings(corrected.Sheet)
	p.seen.TellClock(&corrected.Recording, p.Recording.Parts, corrected.Sheet)
	corrected.Stands = p.seen.Stands()
	placed, err := timeline.Resolve(ctx, corrected.Input)
	if err != nil {
		return shortened(err) // the timeline of before stays
	}
	p.Timeline = placed
	p.Warnings = slices.Concat(p.Timeline.Warnings, unread, p.seen.Remarks(corrected.Sheet, p.Recording.Parts), washedOut(p.Recording), otherPictures(p.Recording), soundsCut(p.Recording), warnings)
	return nil
}

// washedOut warns of parts whose high dynamic range stays as it is.
func washedOut(rec *frames.Recording) (all []timeline.Warning) {
	for i := range rec.Parts {
		if p := &rec.Parts[i]; p.HighRange() && !p.Mapped() {
			all = append(all, timeline.Warning{Code: codes.RecordingWashedOut,
				Text: words.Tell("%s was filmed with a high dynamic range (HDR), which this ffmpeg can't bring into an ordinary screen's: pictures look grey", p.Name),
				Hint: words.Tell("install an ffmpeg with the filters zscale and tonemap, as full builds have them, and run the command again")})
		}
	}
	return all
}

// soundsCut names sounds of which less or more was decoded than the file says there is. In
// a recording that is cut off anyway that is said once.
func soundsCut(rec *frames.Recording) (all []timeline.Warning) {
	for i := range rec.Parts {
		if p := &rec.Parts[i]; p.Sound != nil && p.Damage.Empty() {
			all = append(all, timeline.Warning{Code: codes.RecordingSound,
				Text: words.Tell("%s: its sound couldn't be decoded whole: %s of %s came out", p.Name, p.Sound.Decoded.Round(time.Second/10).String(), p.Sound.Claimed.Round(time.Second/10).String()),
				Hint: words.Tell("play the recording in an ordinary player; if more is heard there, save it from there in another form, and put that into the job")})
		}
	}
	return all
}

// otherPictures names pictures in the files that aren't shown, as of a second camera.
func otherPictures(rec *frames.Recording) (all []timeline.Warning) {
	for i := range rec.Parts {
		if p := &rec.Parts[i]; len(p.Media.Others) > 0 {
			all = append(all, timeline.Warning{Code: codes.RecordingSeveral,
				Text: words.Tell("%s holds more than one moving picture; the one that players show is taken, and left out is: %s", p.Name, strings.Join(p.Media.Others, ", ")),
				Hint: words.Tell("if another one is wanted, save it as a file of its own and put that into the job")})
		}
	}
	return all
}

// inputs are what a job's files say, as they stand: not corrected yet.
type inputs struct {
	timeline.Input
	options fieldlog.Options
}

// header is the word for a column of a log that has none.
func (in *inputs) header(column string) string {
	lang, err := words.For(in.Sheet.Job.Language)
	if err != nil {
		return column
	}
	return lang.Column(column)
}

// read reads the job's list of kinds, log and readings. What is wrong with any of
// them comes back at once.
func (j *Job) read(ctx context.Context) (*inputs, error) {
	if len(j.open) > 0 {
		return nil, shortened(slices.Clone(j.open))
	}
	in := &inputs{Input: timeline.Input{Sheet: j.Sheet}, options: j.logOptions("")}
	var faults fault.List
	for _, step := range []func(context.Context, *inputs) error{j.readKinds, j.readLog, j.readReadings} {
		err := step(ctx, in)
		if list, ok := fault.In(err); ok {
			faults = append(faults, list...)
			continue
		}
		if err != nil {
			return nil, err
		}
	}
	if len(faults) > 0 {
		return nil, shortened(faults)
	}
	return in, nil
}

func (j *Job) logOptions(file string) fieldlog.Options {
	s := j.Sheet
	return fieldlog.Options{
		File: file,
		Date: timecode.Date(s.Job.Date), Zone: s.Job.Zone,
		Dates: timecode.DateOrder(s.Log.Dates), Decimal: s.Log.Decimal, Charset: s.Log.Charset,
		Unit: s.Job.Units, Columns: s.Log.Columns,
	}
}

func (j *Job) readKinds(ctx context.Context, in *inputs) error {
	if j.Kinds == nil {
		return nil
	}
	return j.reading(*j.Kinds, func(f *os.File) (err error) {
		in.options.Kinds, err = fieldlog.ReadKinds(ctx, f, j.logOptions(j.Kinds.Name))
		return err
	})
}

func (j *Job) readLog(ctx context.Context, in *inputs) error {
	if j.Log == nil {
		return nil
	}
	in.options.File = j.Log.Name
	return j.reading(*j.Log, func(f *os.File) (err error) {
		in.Log, err = fieldlog.Read(ctx, f, in.options)
		return err
	})
}

func (j *Job) readReadings(ctx context.Context, in *inputs) error {
	if j.Readings == nil {
		return nil
	}
	return j.reading(*j.Readings, func(f *os.File) (err error) {
		in.ReadingsFile, err = fieldlog.ReadReadings(ctx, f, j.logOptions(j.Readings.Name))
		return err
	})
}

func (j *Job) reading(s Source, read func(*os.File) error) error {
	f, err := j.Open(s)
	if err != nil {
		return unreadableSource(s, err)
	}
	defer f.Close()
	return read(f)
}
