package job

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"

	"pushcue/internal/safefile"
	"pushcue/internal/trouble"
	"pushcue/timeline/edits"
	"pushcue/timeline/jobsheet"
)

// Protected are the files that nothing of ours may remove, replace or write into, by
// whatever name it reaches them.
func (v *Visit) Protected() *safefile.Protected {
	p := &safefile.Protected{}
	p.Add(filepath.Join(v.Dir, jobsheet.VisitFile))
	for _, j := range v.Jobs {
		j.protect(p)
	}
	return p
}

func (j *Job) protected() *safefile.Protected {
	p := &safefile.Protected{}
	j.protect(p)
	return p
}

func (j *Job) protect(p *safefile.Protected) {
	for _, s := range j.Files() {
		p.Add(s.Path)
	}
	p.Add(filepath.Join(j.Dir, edits.File))
	if j.SheetPath != "" {
		p.Add(j.SheetPath)
	}
	if j.Firm != nil {
		p.Add(j.Firm.File)
	}
	if path := j.LogoPath(); path != "" {
		p.Add(path)
	}
}

// OpenWork opens the job's folder in ours, and creates it where it is missing.
func (j *Job) OpenWork() (*safefile.Folder, error) {
	return safefile.MakeWithin(j.Top, j.Work, j.protected())
}

// IsLink reports whether a link stands at path itself.
func IsLink(path string) bool {
	info, err := os.Lstat(path)
	return err == nil && info.Mode()&(fs.ModeSymlink|fs.ModeIrregular) != 0
}

// LinkedWork refuses a work folder that a link leads to, or that holds links on the
// way to the job's own. One that isn't there, or can't be opened, is no reason to stop.
func (j *Job) LinkedWork() error {
	f, err := safefile.OpenWithin(j.Top, j.Work, nil)
	if err == nil {
		return f.Close()
	}
	if errors.Is(err, safefile.ErrLink) {
		return trouble.Writing(j.Work, err)
	}
	return nil
}
