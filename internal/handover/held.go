package handover

import (
	"errors"
	"io/fs"
	"os"

	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// heldSources are a job's sources, kept open while a handover is made of them: what is
// told of them by their sums must hold for what ffmpeg reads under the same names. On
// Windows nobody can exchange them meanwhile; elsewhere an exchange is found.
type heldSources []heldSource

type heldSource struct {
	Source
	file *os.File
	info fs.FileInfo
}

// hold opens the sources.
func (j *Job) hold() (all heldSources, err error) {
	for _, s := range j.sources() {
		file, err := j.Open(s)
		if err != nil {
			all.release()
			return nil, unreadableSource(s, err)
		}
		info, err := file.Stat()
		if err != nil {
			file.Close()
			all.release()
			return nil, unreadableSource(s, err)
		}
		all = append(all, heldSource{s, file, info})
	}
	return all, nil
}

func (h heldSources) release() {
	for _, s := range h {
		s.file.Close()
	}
}

// unchanged is the fault of a source whose name leads to another file by now, or that
// was written to.
func (h heldSources) unchanged() error {
	for _, s := range h {
		now, err := os.Stat(s.Path)
		if errors.Is(err, fs.ErrNotExist) || err == nil && (!os.SameFile(s.info, now) || now.Size() != s.info.Size() || !now.ModTime().Equal(s.info.ModTime())) {
			return fault.Of(fault.Fault{File: s.Name, Text: words.Tell("changed while it was read"), Hint: words.Tell("wait until it is copied whole, then run again")})
		}
		if err != nil {
			return unreadableSource(s.Source, err)
		}
	}
	return nil
}
