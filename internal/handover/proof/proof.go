// Package proof tells whether what was handed over or archived is still what it
// was: it finds what can be proven at a place, reads it, and names every file that
// changed.
//
//	subjects, err := proof.Find(ctx, "/media/stick")
//	report, err := proof.Check(ctx, subjects[0], nil)
//	report.Good()
//
// A list of sums proves itself only against chance: whoever may change the files may
// change the list with them. A bag's seal, noted elsewhere, shows that too.
package proof

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"

	"pushcue/internal/handover"
	"pushcue/internal/handover/bag"
	"pushcue/internal/handover/drive"
	"pushcue/internal/job"
	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// Sort is what a Subject is.
type Sort string

const (
	Bag        Sort = "bag"        // an archive
	Handover   Sort = "handover"   // as made, or as copied onto a drive
	Unfinished Sort = "unfinished" // a copy that wasn't brought to its end
)

// A Subject is something that can be proven.
type Subject struct {
	Path string
	Sort Sort
}

// Find tells what stands at a place: a bag, a handover or a copy of one, a job folder
// with its handovers, or a drive with some of these among other things. What isn't
// ours there is passed over; nothing of ours at all is a fault.
func Find(ctx context.Context, place string) ([]Subject, error) {
	info, err := os.Stat(place)
	if err != nil {
		return nil, fault.Of(fault.Fault{File: place, Text: words.Tell("there is no such file or folder"), Hint: words.Tell("plug the drive in, or check the name")})
	}
	if !info.IsDir() {
		if bag.FormOf(place) == bag.Folder {
			return nil, fault.Of(fault.Fault{File: place, Text: words.Tell("isn't an archive"), Hint: words.Tell("name a handover, a drive, or an archive: a folder, a .tar or a .zip")})
		}
		return []Subject{{place, Bag}}, nil
	}
	if s, ok := at(place); ok {
		return []Subject{s}, nil
	}
	entries, err := os.ReadDir(place)
	if err != nil {
		return nil, fault.Of(fault.Fault{File: place, Text: words.Tell("can't be read: %s", cause(err)), Hint: words.Tell("check that you may read it")})
	}
	var all []Subject
	for _, e := range entries {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		inner := filepath.Join(place, e.Name())
		if e.IsDir() {
			if s, ok := at(inner); ok {
				all = append(all, s)
			}
		} else if bag.FormOf(inner) != bag.Folder && bag.Is(inner) {
			all = append(all, Subject{inner, Bag})
		}
	}
	if len(all) == 0 {
		return nil, fault.Of(fault.Fault{File: place, Text: words.Tell("holds neither a handover nor an archive of one"), Hint: words.Tell("name a handover folder, a drive that pushcue copy wrote to, or an archive")})
	}
	return all, nil
}

// at looks at one folder.
func at(dir string) (Subject, bool) {
	if bag.Is(dir) {
		return Subject{dir, Bag}, true
	}
	switch ours, unfinished := drive.Ours(dir); {
	case unfinished:
		return Subject{dir, Unfinished}, true
	case ours:
		return Subject{dir, Handover}, true
	}
	return Subject{}, false
}

// A Report is what became of a subject.
type Report struct {
	Subject
	Files    int    // read
	Bytes    int64  // of them
	Seal     string // of a bag; see bag.Written
	Problems []string
	Notes    []string // worth knowing, but nothing wrong
}

// Good reports that everything is as it was.
func (r *Report) Good() bool { return len(r.Problems) == 0 }

// Check reads a whole subject. What is wrong with it stands in the report; an error
// means that it couldn't be looked at. progress is told the bytes read since its
// last call, from several goroutines at once.
func Check(ctx context.Context, s Subject, progress func(bytes int64)) (*Report, error) {
	if progress == nil {
		progress = func(int64) {}
	}
	r := &Report{Subject: s}
	switch s.Sort {
	case Bag:
		b, err := bag.Verify(ctx, s.Path, func(_, _ string, n int64) { progress(n) })
		if err != nil {
			return nil, err
		}
		r.Files, r.Bytes, r.Seal, r.Problems, r.Notes = b.Files, b.Bytes, b.Seal, b.Problems(), b.Notes
		return r, nil
	case Unfinished:
		r.Problems = []string{"the copy was never finished: the drive was taken out or filled up too early, or files are still being copied"}
		return r, nil
	}
	return r, r.handover(ctx, progress)
}

func (r *Report) handover(ctx context.Context, progress func(int64)) error {
	if _, err := os.Lstat(filepath.Join(r.Path, drive.ListName)); errors.Is(err, fs.ErrNotExist) {
		r.Problems = []string{"its list of sums (" + drive.ListName + ") is gone, so nothing can be proven"}
		return nil
	}
	f, err := handover.Finish(ctx, job.Ask{Path: r.Path})
	if list, ok := fault.In(err); ok {
		r.Problems = []string{fmt.Sprintf("the list of sums can't be read, so nothing can be proven: %s", list[0].Text)}
		return nil
	}
	if err != nil {
		return err
	}
	var read atomic.Int64
	findings, err := f.Compare(ctx, func(_ string, n int) {
		read.Add(int64(n))
		progress(int64(n))
	})
	if err != nil {
		return err
	}
	for _, f := range findings {
		r.Problems = append(r.Problems, f.String())
	}
	r.Files = len(f.List)
	r.Bytes = read.Load()
	return nil
}

// Size is about how many bytes Check will read.
func Size(s Subject) int64 {
	var n int64
	_ = filepath.WalkDir(s.Path, func(_ string, d fs.DirEntry, err error) error {
		if err == nil && d.Type().IsRegular() {
			if info, err := d.Info(); err == nil {
				n += info.Size()
			}
		}
		return nil
	})
	return n
}

func cause(err error) string {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err.Error()
	}
	return strings.TrimSpace(err.Error())
}
