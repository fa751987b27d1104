package job

import (
	"context"
	"errors"
	"path/filepath"

	"pushcue/internal/safefile"
	"pushcue/internal/trouble"
	"pushcue/timeline/edits"
	"pushcue/timeline/words"
)

// Corrected is the job as it is with other corrections: its files found anew.
func (j *Job) Corrected(ctx context.Context, list *edits.List) (*Job, error) {
	other, err := openCorrected(ctx, j.Ask, j.Dir, j.SheetPath, list)
	if err != nil {
		return nil, Shortened(err)
	}
	other.Out, other.Work, other.Top = j.Out, j.Work, j.Top
	return other, nil
}

// Unfit are the corrections of the job sheet that can't be taken.
func (j *Job) Unfit() []edits.Unfit { return j.UnfitSheet }

// Reread is the job as its files are by now, corrections included.
func (j *Job) Reread(ctx context.Context) (*Job, error) {
	list, err := ReadEdits(j.Dir)
	if err != nil {
		return nil, err
	}
	return j.Corrected(ctx, list)
}

// Record appends corrections to the job's edits.jsonl. When it returns nil they are
// on the disk. A disk that is full or can't be written to is a *trouble.Trouble, and then
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
		return &trouble.Trouble{Text: words.Tell("%s is being written by another program", path), Hint: words.Tell("wait a moment, then try again")}
	}
	if trouble.IsDiskFull(err) {
		return &trouble.Trouble{Text: words.Tell("the disk is full: the correction couldn't be kept, and doesn't count"), Hint: words.Tell("make room, then make it again"), Full: true}
	}
	return trouble.Writing(path, err)
}
