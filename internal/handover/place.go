package handover

import (
	"context"
	"os"
	"slices"

	"pushcue/frames"
	"pushcue/internal/ffmpeg"
	"pushcue/timeline"
	"pushcue/timeline/fault"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/timecode"
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
	if o.sums == nil {
		o.sums = readSourceSums(j.top)
		defer o.sums.keep()
	}
	in := timeline.Input{Sheet: j.Sheet}
	// The log is read first: what is wrong with it is told at once, not after a long
	// recording has been looked through.
	var faults fault.List
	var err error
	if in.Log, err = j.readLog(ctx); err != nil {
		list, ok := fault.In(err)
		if !ok {
			return nil, err
		}
		faults = append(faults, list...)
	}
	if in.ReadingsFile, err = j.readReadings(ctx); err != nil {
		list, ok := fault.In(err)
		if !ok {
			return nil, err
		}
		faults = append(faults, list...)
	}
	if len(faults) > 0 {
		return nil, shortened(faults)
	}
	paths, names := make([]string, len(j.Videos)), make([]string, len(j.Videos))
	for i, v := range j.Videos {
		paths[i], names[i] = v.Path, v.Name
	}
	p := &Placed{Job: j}
	if p.Recording, err = frames.Open(ctx, tools, paths, names, frames.Options{Decode: o.decode}); err != nil {
		return nil, err
	}
	in.Recording = p.Recording.Timeline()
	w := &watcher{tools: tools, job: j, rec: p.Recording, progress: o.Progress, sums: o.sums, quick: o.Quick, counted: o.decode}
	var unread []timeline.Warning
	if p.seen, unread, err = w.look(ctx); err != nil {
		return nil, shortened(err)
	}
	in.Readings = p.seen.readings(j.Sheet)
	if p.Timeline, err = timeline.Resolve(ctx, in); err != nil {
		return nil, shortened(err)
	}
	p.Warnings = slices.Concat(p.Timeline.Warnings, unread, p.seen.remarks(j))
	if err := p.attached(ctx, tools); err != nil {
		return nil, err
	}
	return p, p.confirming(ctx, w)
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

func (j *Job) readLog(ctx context.Context) (*fieldlog.Log, error) {
	if j.Log == nil {
		return nil, nil
	}
	o := j.logOptions(j.Log.Name)
	if j.Kinds != nil {
		f, err := os.Open(j.Kinds.Path)
		if err != nil {
			return nil, unreadableSource(*j.Kinds, err)
		}
		defer f.Close()
		if o.Kinds, err = fieldlog.ReadKinds(ctx, f, j.logOptions(j.Kinds.Name)); err != nil {
			return nil, err
		}
	}
	f, err := os.Open(j.Log.Path)
	if err != nil {
		return nil, unreadableSource(*j.Log, err)
	}
	defer f.Close()
	return fieldlog.Read(ctx, f, o)
}

func (j *Job) readReadings(ctx context.Context) (*fieldlog.Readings, error) {
	if j.Readings == nil {
		return nil, nil
	}
	f, err := os.Open(j.Readings.Path)
	if err != nil {
		return nil, unreadableSource(*j.Readings, err)
	}
	defer f.Close()
	return fieldlog.ReadReadings(ctx, f, j.logOptions(j.Readings.Name))
}
