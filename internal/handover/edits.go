package handover

import (
	"context"
	"errors"
	"path/filepath"
	"slices"

	"pushcue/internal/safefile"
	"pushcue/timeline"
	"pushcue/timeline/codes"
	"pushcue/timeline/edits"
	"pushcue/timeline/words"
)

// Corrected is the job as it is with other corrections: its files found anew.
func (j *Job) Corrected(ctx context.Context, list *edits.List) (*Job, error) {
	other, err := openCorrected(ctx, j.ask, j.Dir, j.sheetPath, list)
	if err != nil {
		return nil, shortened(err)
	}
	other.out, other.work, other.top = j.out, j.work, j.top
	return other, nil
}

// Unfit are the corrections of the job sheet that can't be taken.
func (j *Job) Unfit() []edits.Unfit { return j.unfit }

// Reread is the job as its files are by now, corrections included.
func (j *Job) Reread(ctx context.Context) (*Job, error) {
	list, err := readEdits(j.Dir)
	if err != nil {
		return nil, err
	}
	return j.Corrected(ctx, list)
}

// Record appends corrections to the job's edits.jsonl. When it returns nil they are
// on the disk. A disk that is full or can't be written to is a *Trouble, and then
// none of them is in the file.
func (j *Job) Record(ctx context.Context, es ...edits.Edit) error {
	var lines []byte
	var err error
	for _, e := range es {
		if lines, err = e.Append(lines); err != nil {
			return err
		}
	}
	path := filepath.Join(j.Dir, edits.File)
	err = safefile.Append(ctx, path, lines)
	if errors.Is(err, safefile.ErrBusy) {
		return &Trouble{Text: words.Tell("%s is being written by another program", path), Hint: words.Tell("wait a moment, then try again")}
	}
	if isDiskFull(err) {
		return &Trouble{Text: words.Tell("the disk is full: the correction couldn't be kept, and doesn't count"), Hint: words.Tell("make room, then make it again"), Full: true}
	}
	return writing(path, err)
}

// correct lays what people corrected over the sheet and the log.
func (in *inputs) correct(j *Job) (all []edits.Unfit, warnings []timeline.Warning) {
	sheet := *j.Sheet
	in.Sheet = &sheet
	var unfit []edits.Unfit
	in.Log, unfit = j.Edits.Apply(in.Sheet, in.Log, in.options, in.header)
	all = slices.Concat(j.unfit, unfit)
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
