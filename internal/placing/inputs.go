package placing

import (
	"context"
	"slices"

	"pushcue/internal/job"
	"pushcue/timeline"
	"pushcue/timeline/codes"
	"pushcue/timeline/edits"
	"pushcue/timeline/fault"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// correct lays what people corrected over the sheet and the log.
func (in *inputs) correct(j *job.Job) (all []edits.Unfit, warnings []timeline.Warning) {
	sheet := *j.Sheet
	in.Sheet = &sheet
	var unfit []edits.Unfit
	in.Log, unfit = j.Edits.Apply(in.Sheet, in.Log, in.options, in.header)
	all = slices.Concat(j.UnfitSheet, unfit)
	for _, u := range all {
		w := timeline.Warning{Code: codes.EditUnfit, Text: u.Sentence(), Hint: u.Hint, Out: timeline.Out{Edit: u.Edit.ID}}
		warnings = append(warnings, w)
	}
	for _, f := range j.Edits.Faults {
		acknowledged := !slices.Contains(j.Edits.Cut, f.Line)
		warnings = append(warnings, timeline.Warning{Code: codes.EditUnreadable, Text: f.Told(), Hint: f.Hint, Unsettled: acknowledged})
	}
	return all, warnings
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

// ReadInputs reads the job's list of kinds, log and readings. What is wrong with any of
// them comes back at once.
func ReadInputs(ctx context.Context, j *job.Job) (*inputs, error) {
	if len(j.Asked) > 0 {
		return nil, job.Shortened(slices.Clone(j.Asked))
	}
	in := &inputs{Input: timeline.Input{Sheet: j.Sheet}, options: logOptions(j, "")}
	var faults fault.List
	for _, step := range []func(context.Context, *job.Job) error{in.readKinds, in.readLog, in.readReadings} {
		err := step(ctx, j)
		if list, ok := fault.In(err); ok {
			faults = append(faults, list...)
			continue
		}
		if err != nil {
			return nil, err
		}
	}
	if len(faults) > 0 {
		return nil, job.Shortened(faults)
	}
	return in, nil
}

func logOptions(j *job.Job, file string) fieldlog.Options {
	s := j.Sheet
	return fieldlog.Options{
		File: file,
		Date: timecode.Date(s.Job.Date), Zone: s.Job.Zone,
		Dates: timecode.DateOrder(s.Log.Dates), Decimal: s.Log.Decimal, Charset: s.Log.Charset,
		Unit: s.Job.Units, Columns: s.Log.Columns,
	}
}
