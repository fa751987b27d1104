package handover

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"pushcue/internal/safefile"
	"pushcue/timeline/edits"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/words"
)

// A ground is what a run of Make writes to: the opened handover and work folder, and a
// folder for unfinished files. They stay the ones that were opened and checked,
// whatever becomes of their paths meanwhile.
type ground struct {
	out, work *safefile.Folder
	tmp       *safefile.Temp
	more      []*safefile.Folder // those of a visit's jobs
	lock      *lock
	editions  *editions
}

// openGround opens or creates our folders, and holds them against a second run.
func (v *Visit) openGround() (g *ground, err error) {
	g = &ground{}
	defer func() {
		if err != nil {
			g.close()
		}
	}()
	protected := v.protected()
	if g.work, err = safefile.MakeWithin(v.Work, v.Work, protected); err != nil {
		return g, writing(v.Work, err)
	}
	if g.lock, err = takeLock(g.work); err != nil {
		return g, err
	}
	if err = withoutLinks(g.work); err != nil {
		return g, err
	}
	if g.out, err = safefile.MakeWithin(v.Out, v.Out, protected); err != nil {
		return g, writing(v.Out, err)
	}
	if err = withoutLinks(g.out); err != nil {
		return g, err
	}
	g.tmp, err = freshTemp(g.work)
	return g, err
}

func (g *ground) close() {
	if g.tmp != nil {
		_ = g.tmp.Discard()
	}
	if g.lock != nil {
		g.lock.release()
	}
	for _, f := range append(g.more, g.out, g.work) {
		if f != nil {
			f.Close()
		}
	}
}

// of opens the folders of one job: ours themselves, or folders in them where a visit
// has several. They stay open as long as the ground does.
func (g *ground) of(v *Visit, j *Job) (out, work *safefile.Folder, err error) {
	if j.out == v.Out {
		return g.out, g.work, nil
	}
	if out, err = g.out.MakeFolder(filepath.Base(j.out)); err != nil {
		return nil, nil, writing(j.out, err)
	}
	g.more = append(g.more, out)
	if work, err = g.work.MakeFolder(filepath.Base(j.work)); err != nil {
		return nil, nil, writing(j.work, err)
	}
	g.more = append(g.more, work)
	return out, work, nil
}

// protected are the files that nothing of ours may remove, replace or write into, by
// whatever name it reaches them.
func (v *Visit) protected() *safefile.Protected {
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
	for _, s := range j.all() {
		p.Add(s.Path)
	}
	p.Add(filepath.Join(j.Dir, edits.File))
	if j.sheetPath != "" {
		p.Add(j.sheetPath)
	}
	if j.firm != nil {
		p.Add(j.firm.File)
	}
	if path := j.logoPath(); path != "" {
		p.Add(path)
	}
}

// OpenWork opens the job's folder in ours, and creates it where it is missing.
func (j *Job) OpenWork() (*safefile.Folder, error) {
	return safefile.MakeWithin(j.top, j.work, j.protected())
}

// withoutLinks refuses a folder of ours in which somebody has put a link: what is
// written or removed through it would change something else.
func withoutLinks(f *safefile.Folder) error {
	return f.Walk(func(name string, d fs.DirEntry) error {
		if d.Type()&(fs.ModeSymlink|fs.ModeIrregular) != 0 {
			return isLinked(f.At(name))
		}
		return nil
	})
}

// isLink reports whether a link stands at path itself.
func isLink(path string) bool {
	info, err := os.Lstat(path)
	return err == nil && info.Mode()&(fs.ModeSymlink|fs.ModeIrregular) != 0
}

func isLinked(path string) *Trouble {
	return &Trouble{
		Text: words.Tell("%s is a link, and what we write and remove must not lead elsewhere", path),
		Hint: words.Tell("delete the link, or put a plain file or folder in its place, and run the same command again"),
	}
}

// linkedWork refuses a work folder that a link leads to, or that holds links on the
// way to the job's own. One that isn't there, or can't be opened, is no reason to stop.
func (j *Job) linkedWork() error {
	f, err := safefile.OpenWithin(j.top, j.work, nil)
	if err == nil {
		return f.Close()
	}
	if errors.Is(err, safefile.ErrLink) {
		return writing(j.work, err)
	}
	return nil
}

// freshTemp makes a folder for this run's unfinished files, and clears away what
// runs that were cut short left.
func freshTemp(work *safefile.Folder) (*safefile.Temp, error) {
	const prefix = "unfinished-"
	old, err := work.ReadDir(".")
	if err != nil {
		return nil, writing(work.Path(), err)
	}
	for _, e := range old {
		if e.IsDir() && strings.HasPrefix(e.Name(), prefix) || safefile.IsLeftover(e.Name()) {
			if err := work.RemoveAll(e.Name()); err != nil {
				return nil, writing(work.At(e.Name()), err)
			}
		}
	}
	tmp, err := work.TempFolder(prefix)
	return tmp, writing(work.At(prefix), err)
}
