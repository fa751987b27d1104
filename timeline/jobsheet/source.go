package jobsheet

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"path/filepath"

	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// The sheets' file names.
const (
	JobFile   = "job.toml"
	VisitFile = "visit.toml"
	FirmFile  = "firm.toml"
)

// MaxBytes is the largest sheet read; a real one has a few thousand bytes.
const MaxBytes = 256 << 10

// A Source is one sheet before it is read.
type Source struct {
	File string // as the user is to see it named
	Dir  string // folder that relative paths in it start from
	Data []byte
}

// Sources are the sheets of one job. Absent ones are nil.
type Sources struct{ Job, Visit, Firm *Source }

// A Place is where to look for a job's sheets.
type Place struct {
	Dir      string // the job folder
	Sheet    string // the job sheet's path; "" for job.toml in Dir, which may be missing
	Settings string // the user's settings folder, where firm.toml is looked for last; "" for none
}

// An Opener opens a file for reading. A missing file is fs.ErrNotExist.
type Opener func(path string) (io.ReadCloser, error)

// Find gathers the sheets of a job: the job's own; visit.toml in the folder above
// it; and the nearest firm.toml, from the job folder upwards and then in the user's
// settings. It reads through open alone. A sheet that is there but can't be read is
// a fault.List.
func Find(ctx context.Context, p Place, open Opener) (Sources, error) {
	var found Sources
	var err error
	sheet := p.Sheet
	if sheet == "" {
		sheet = filepath.Join(p.Dir, JobFile)
	}
	if found.Job, err = load(ctx, sheet, p.Dir, open); err != nil {
		return Sources{}, err
	}
	if found.Job == nil && p.Sheet != "" {
		return Sources{}, fault.Of(fault.Fault{File: p.Sheet, Text: words.Tell("there is no such job sheet"),
			Hint: words.Tell("name a job folder or its job.toml")})
	}
	dir := filepath.Clean(p.Dir)
	if above := filepath.Dir(dir); above != dir {
		if found.Visit, err = load(ctx, filepath.Join(above, VisitFile), above, open); err != nil {
			return Sources{}, err
		}
	}
	for found.Firm == nil {
		if found.Firm, err = load(ctx, filepath.Join(dir, FirmFile), dir, open); err != nil {
			return Sources{}, err
		}
		above := filepath.Dir(dir)
		if above == dir {
			break
		}
		dir = above
	}
	if found.Firm == nil && p.Settings != "" {
		found.Firm, err = load(ctx, filepath.Join(p.Settings, FirmFile), p.Settings, open)
	}
	return found, err
}

// load reads one sheet; nil where there is none.
func load(ctx context.Context, path, dir string, open Opener) (*Source, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	f, err := open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, unreadable(path, err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, MaxBytes+1))
	if err != nil {
		return nil, unreadable(path, err)
	}
	return &Source{File: path, Dir: dir, Data: data}, nil
}

func unreadable(path string, err error) error {
	cause := err
	if inner := (*fs.PathError)(nil); errors.As(err, &inner) {
		cause = inner.Err // the path is named already
	}
	return fault.Of(fault.Fault{File: path, Text: words.Tell("the sheet can't be read: %v", cause),
		Hint: words.Tell("check that it is a file and that you may read it")})
}
