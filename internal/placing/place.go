package placing

import (
	"context"
	"os"
	"slices"
	"strings"
	"time"

	"pushcue/frames"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/job"
	"pushcue/internal/progress"
	"pushcue/internal/reach"
	"pushcue/timeline"
	"pushcue/timeline/codes"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/words"
)

// PlaceOptions are how Place goes about it.
type PlaceOptions struct {
	Progress progress.Progress // may be nil
	Quick    bool              // don't look at the pictures: what was read off them before is taken

	Decode bool // the table of frames comes from decoding
	Sums   *job.Sums
}

// Place reads a job's recording, log and readings, and places the log on the
// recording. What it reads off the pictures, which takes as long as decoding them,
// is kept in our own folder, with a sheet that shows it (Placed.CounterSheet);
// nothing else is written. Inputs that can't be used are a fault.List.
func Place(ctx context.Context, tools *ffmpeg.Tools, j *job.Job, o PlaceOptions) (*Placed, error) {
	if o.Progress == nil {
		o.Progress = progress.Quiet{}
	}
	if err := j.LinkedWork(); err != nil {
		return nil, err
	}
	release, err := j.Hold()
	if err != nil {
		return nil, err
	}
	defer release()
	if o.Sums == nil {
		o.Sums = job.ReadSums(j.Top, j.Seal())
		defer o.Sums.Keep()
	}
	// The log is read first: what is wrong with it is told at once, not after a long
	// recording has been looked through.
	in, err := ReadInputs(ctx, j)
	if err != nil {
		return nil, err
	}
	p := &Placed{Job: j}
	if p.Recording, err = openRecording(ctx, j, tools, frames.Options{Decode: o.Decode}); err != nil {
		return nil, err
	}
	w := &watcher{tools: tools, job: j, rec: p.Recording, progress: o.Progress, sums: o.Sums, quick: o.Quick, counted: o.Decode}
	unread, err := p.look(ctx, w)
	if err != nil {
		return nil, err
	}
	if err := p.Resolve(ctx, in, unread); err != nil {
		return nil, err
	}
	if p.Seen != nil && p.Timeline.StandsWouldHelp() {
		if err := p.watch.FindStands(ctx, p.Seen); err != nil {
			return nil, err
		}
		if err := p.Resolve(ctx, in, unread); err != nil {
			return nil, err
		}
	}
	if err := p.attached(ctx, tools); err != nil {
		return nil, err
	}
	return p, p.confirming(ctx)
}

// openRecording opens the recording.
func openRecording(ctx context.Context, j *job.Job, tools *ffmpeg.Tools, o frames.Options) (*frames.Recording, error) {
	sources := make([]*reach.Source, len(j.Videos))
	for i, v := range j.Videos {
		sources[i] = j.Pinned(v)
	}
	return frames.Open(ctx, tools, sources, o)
}

// Resolve places what was read on the recording.
func (p *Placed) Resolve(ctx context.Context, in *inputs, unread []timeline.Warning) error {
	corrected := *in
	unfit, warnings := corrected.correct(p.Job)
	p.Unfit = unfit
	p.Seen.GoByLog(corrected.Log.OwnUnit())
	corrected.Recording, corrected.Readings = p.Recording.Timeline(), p.Seen.Readings(corrected.Sheet)
	p.Seen.TellClock(&corrected.Recording, p.Recording.Parts, corrected.Sheet)
	corrected.Stands = p.Seen.Stands()
	placed, err := timeline.Resolve(ctx, corrected.Input)
	if err != nil {
		return job.Shortened(err) // the timeline of before stays
	}
	p.Timeline = placed
	p.Warnings = slices.Concat(p.Timeline.Warnings, unread, p.Seen.Remarks(corrected.Sheet, p.Recording.Parts), WashedOut(p.Recording), OtherPictures(p.Recording), SoundsCut(p.Recording), warnings)
	return nil
}

// WashedOut warns of parts whose high dynamic range stays as it is.
func WashedOut(rec *frames.Recording) (all []timeline.Warning) {
	for i := range rec.Parts {
		if p := &rec.Parts[i]; p.HighRange() && !p.Mapped() {
			all = append(all, timeline.Warning{Code: codes.RecordingWashedOut,
				Text: words.Tell("%s was filmed with a high dynamic range (HDR), which this ffmpeg can't bring into an ordinary screen's: pictures look grey", p.Name),
				Hint: words.Tell("install an ffmpeg with the filters zscale and tonemap, as full builds have them, and run the command again")})
		}
	}
	return all
}

// SoundsCut names sounds of which less or more was decoded than the file says there is. In
// a recording that is cut off anyway that is said once.
func SoundsCut(rec *frames.Recording) (all []timeline.Warning) {
	for i := range rec.Parts {
		if p := &rec.Parts[i]; p.Sound != nil && p.Damage.Empty() {
			all = append(all, timeline.Warning{Code: codes.RecordingSound,
				Text: words.Tell("%s: its sound couldn't be decoded whole: %s of %s came out", p.Name, p.Sound.Decoded.Round(time.Second/10).String(), p.Sound.Claimed.Round(time.Second/10).String()),
				Hint: words.Tell("play the recording in an ordinary player; if more is heard there, save it from there in another form, and put that into the job")})
		}
	}
	return all
}

// OtherPictures names pictures in the files that aren't shown, as of a second camera.
func OtherPictures(rec *frames.Recording) (all []timeline.Warning) {
	for i := range rec.Parts {
		if p := &rec.Parts[i]; len(p.Media.Others) > 0 {
			all = append(all, timeline.Warning{Code: codes.RecordingSeveral,
				Text: words.Tell("%s holds more than one moving picture; the one that players show is taken, and left out is: %s", p.Name, strings.Join(p.Media.Others, ", ")),
				Hint: words.Tell("if another one is wanted, save it as a file of its own and put that into the job")})
		}
	}
	return all
}

func (in *inputs) readKinds(ctx context.Context, j *job.Job) error {
	if j.Kinds == nil {
		return nil
	}
	return j.Reading(*j.Kinds, func(f *os.File) (err error) {
		in.options.Kinds, err = fieldlog.ReadKinds(ctx, f, logOptions(j, j.Kinds.Name))
		return err
	})
}

func (in *inputs) readLog(ctx context.Context, j *job.Job) error {
	if j.Log == nil {
		return nil
	}
	in.options.File = j.Log.Name
	return j.Reading(*j.Log, func(f *os.File) (err error) {
		in.Log, err = fieldlog.Read(ctx, f, in.options)
		return err
	})
}

func (in *inputs) readReadings(ctx context.Context, j *job.Job) error {
	if j.Readings == nil {
		return nil
	}
	return j.Reading(*j.Readings, func(f *os.File) (err error) {
		in.ReadingsFile, err = fieldlog.ReadReadings(ctx, f, logOptions(j, j.Readings.Name))
		return err
	})
}
