package job

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"pushcue/internal/photo"
	"pushcue/internal/reach"
	"pushcue/internal/trouble"
	"pushcue/timeline/edits"
	"pushcue/timeline/fault"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/words"
)

// Elsewhere is the archive's folder for sources that lie outside the job folder.
const Elsewhere = "elsewhere"

func (j *Job) Reading(s Source, read func(*os.File) error) error {
	f, err := j.Open(s)
	if err != nil {
		return UnreadableSource(s, err)
	}
	defer f.Close()
	return read(f)
}

// Bytes that a file of a job has at most. They are far beyond any push.
const (
	logBytes       = 64 << 20
	recordingBytes = 1 << 40  // one part
	soundBytes     = 4 << 30  // a spoken note
	SumsBytes      = 64 << 20 // SHA256SUMS
	DocumentBytes  = 1 << 30  // timeline.json
)

// reachOf is what a job may name: the files of its own folder, those of the visit that
// it is part of, and what the command line names.
func reachOf(dir string, a Ask) (*reach.Reach, error) {
	r := &reach.Reach{Folders: []string{dir}, Anywhere: a.Outside}
	above := filepath.Dir(dir)
	if info, err := os.Lstat(filepath.Join(above, jobsheet.VisitFile)); err == nil && info.Mode().IsRegular() {
		r.Folders = append(r.Folders, above)
	}
	for _, file := range append(slices.Clone(a.Videos), a.Log) {
		if file == "" {
			continue
		}
		path, err := filepath.Abs(file)
		if err != nil {
			return nil, err
		}
		r.Named = append(r.Named, path)
	}
	return r, nil
}

// OpenSheet opens one of a job's sheets. firm.toml and visit.toml may stand in folders
// above it: each must lie in its own, the job's where the job may reach.
func (j *Job) OpenSheet(path string) (*os.File, error) {
	folder := filepath.Dir(path)
	switch {
	case j.Ask.Settings != "" && folder == filepath.Clean(j.Ask.Settings):
		return reach.Open(path, jobsheet.MaxBytes)
	case folder == j.Dir:
		return j.Reach.Open(path, jobsheet.MaxBytes)
	}
	f, err := (&reach.Reach{Folders: []string{folder}, Anywhere: j.Ask.Outside}).Open(path, jobsheet.MaxBytes)
	if errors.Is(err, fs.ErrPermission) {
		// Whoever may only pass through a folder can't open it, and still sees that there is no sheet.
		if _, missing := os.Lstat(path); errors.Is(missing, fs.ErrNotExist) {
			return nil, missing
		}
	}
	return f, err
}

// sheetOpener is openSheet for jobsheet.Find.
func (j *Job) sheetOpener(path string) (io.ReadCloser, error) {
	f, err := j.OpenSheet(path)
	if err != nil {
		return nil, err // a nil *os.File in an interface wouldn't be nil
	}
	return f, nil
}

// most is how many bytes a file of the job has at most.
func (j *Job) most(s Source) int64 {
	switch {
	case slices.Contains(j.Videos, s):
		return recordingBytes
	case slices.Contains(j.Spoken, s):
		return soundBytes
	case slices.Contains(j.Photos, s):
		return photo.MostBytes
	}
	return logBytes
}

// Stat describes a file of the job that Open opens.
func (j *Job) Stat(s Source) (fs.FileInfo, error) {
	f, err := j.Open(s)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return f.Stat()
}

// readable opens a file to see that it can be.
func (j *Job) readable(s Source) error {
	_, err := j.Stat(s)
	return err
}

// unreadable fills a fault with why a file can't be opened; text tells it of a cause.
func unreadable(f fault.Fault, err error, text func(cause words.Sentence) words.Sentence, usual words.Sentence) error {
	f.Text, f.Hint = text(trouble.PlainCause(err)), HintOf(err, usual)
	return fault.Of(f)
}

// HintOf is what to do about a file that can't be opened.
func HintOf(err error, usual words.Sentence) words.Sentence {
	var why *reach.Error
	if errors.As(err, &why) {
		return why.Hint
	}
	return usual
}

// ReadEdits reads what people corrected in a job.
func ReadEdits(dir string) (*edits.List, error) {
	text, err := reach.ReadBeneath(dir, edits.File, edits.MaxBytes)
	if errors.Is(err, fs.ErrNotExist) {
		return &edits.List{File: edits.File}, nil
	}
	if err != nil {
		return nil, unreadable(fault.Fault{File: filepath.Join(dir, edits.File)}, err,
			func(cause words.Sentence) words.Sentence {
				return words.Tell("the corrections can't be read: %s", cause)
			},
			words.Tell("check that it is a file and that you may read it"))
	}
	return edits.Read(edits.File, text), nil
}

// CheckFolders refuses a handover or work folder that is a link, which would have us
// write and remove elsewhere, and a handover that is no folder at all. Without a work
// folder much can be done, so that one which can't be is told of later.
func CheckFolders(out, work string) error {
	for _, path := range []string{out, work} {
		info, err := os.Lstat(path)
		switch {
		case err != nil || info.IsDir():
		case IsLink(path):
			return trouble.IsLinked(path)
		case path == out:
			return fault.Of(fault.Fault{File: path, Text: words.Tell("pushcue keeps a folder of this name here, and this isn't one"),
				Hint: words.Tell("move it elsewhere or rename it, then run the command again")})
		}
	}
	return nil
}
