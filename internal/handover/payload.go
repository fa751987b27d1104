package handover

import (
	"context"
	"errors"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"pushcue/internal/job"
	"pushcue/internal/manifest"
	"pushcue/internal/reach"
	"pushcue/internal/shelf"
	"pushcue/timeline/jobsheet"
)

// A Kept is one file of what an archive of a job takes in.
type Kept struct {
	Path string // absolute
	Name string // in the archive's data folder, forward slashes
	Open func() (*os.File, error)
}

// Payload lists what an archive keeps of a job or a visit: all that came home, the
// handover, and the sheets found above, laid out so that the handover can be made
// again from the archive's data folder. Our own work folder, another reader's
// handover and earlier archives stay out. outside names the sources that lie outside
// the job folder: a remake must be told where they are. linked names the links that lead
// out of it, which aren't followed.
func Payload(ctx context.Context, v *job.Visit, f *Finished) (files []Kept, outside, linked []string, err error) {
	p := &payload{taken: map[string]bool{}, reach: v.Reach}
	base := ""
	if !v.Many && job.IsFile(filepath.Join(filepath.Dir(v.Dir), jobsheet.VisitFile)) {
		// Beside the job's own folder, where it is looked for.
		base = filepath.Base(v.Dir) + "/"
		p.add(filepath.Join(filepath.Dir(v.Dir), jobsheet.VisitFile), jobsheet.VisitFile)
	}
	if err := p.walk(ctx, v, base); err != nil {
		return nil, nil, nil, err
	}
	for _, e := range append(listed(f), shelf.SumsName) {
		p.addBy(filepath.Join(f.Dir, filepath.FromSlash(e)), base+job.OutName+"/"+e, func() (*os.File, error) { return reach.Beneath(f.Dir, e, reach.AnySize) })
	}
	for _, j := range v.Jobs {
		p.sheets(j)
		for _, s := range j.Files() {
			if job.Within(s.Path, v.Dir) {
				continue
			}
			name := p.free(path.Join(job.Elsewhere, filepath.Base(s.Path)))
			p.addBy(s.Path, name, func() (*os.File, error) { return j.Open(s) })
			outside = append(outside, name)
		}
	}
	slices.SortFunc(p.files, func(a, b Kept) int { return strings.Compare(a.Name, b.Name) })
	return p.files, outside, p.linked, nil
}

func listed(f *Finished) []string {
	all := make([]string, len(f.List))
	for i, e := range f.List {
		all[i] = e.Name
	}
	return all
}

type payload struct {
	files  []Kept
	taken  map[string]bool // paths
	linked []string        // links that lead out of the job
	reach  *reach.Reach
}

// add takes in a file that the job may reach.
func (p *payload) add(path, name string) {
	p.addBy(path, name, func() (*os.File, error) { return p.reach.Open(path, reach.AnySize) })
}

func (p *payload) addBy(path, name string, open func() (*os.File, error)) {
	if !p.taken[path] {
		p.taken[path] = true
		p.files = append(p.files, Kept{Path: path, Name: name, Open: open})
	}
}

// free makes a name that no file has yet.
func (p *payload) free(name string) string {
	all := []string{}
	for _, f := range p.files {
		all = append(all, f.Name)
	}
	named := job.Distinct(append(all, name))
	return named[len(named)-1]
}

// walk takes in the folder itself. A link is followed, so that the bytes are kept and
// not only their place; one that leads out, or back to a folder taken in already, is not.
func (p *payload) walk(ctx context.Context, v *job.Visit, base string) error {
	within := map[string]bool{}
	var into func(dir, name string) error
	into = func(dir, name string) error {
		if real, err := filepath.EvalSymlinks(dir); err == nil {
			if within[real] {
				return nil
			}
			within[real] = true
		}
		entries, err := os.ReadDir(dir)
		if err != nil {
			return err
		}
		for _, e := range entries {
			if err := ctx.Err(); err != nil {
				return err
			}
			at := filepath.Join(dir, e.Name())
			info, err := p.reach.Stat(at)
			if errors.Is(err, reach.ErrOutside) {
				p.linked = append(p.linked, name+e.Name())
			}
			if err != nil { // that, a link that leads nowhere, or gone since
				continue
			}
			switch {
			case info.IsDir():
				if p.ours(v, at) || job.IsFile(filepath.Join(at, "bagit.txt")) || strings.HasPrefix(e.Name(), ".unfinished-") {
					continue
				}
				if err := into(at, name+e.Name()+"/"); err != nil {
					return err
				}
			case info.Mode().IsRegular() && !manifest.IsLitter(e.Name()) && !strings.HasPrefix(e.Name(), ".unfinished-"):
				p.add(at, name+e.Name())
			}
		}
		return nil
	}
	return into(v.Dir, base)
}

// ours reports a folder that we write: of the visit, or of one of its jobs.
func (p *payload) ours(v *job.Visit, dir string) bool {
	name, parent := filepath.Base(dir), filepath.Dir(dir)
	ofJob := parent == v.Dir || slices.ContainsFunc(v.Jobs, func(j *job.Job) bool { return j.Dir == parent })
	return dir == v.Out || dir == v.Work || ofJob && slices.Contains([]string{job.OutName, job.BuyerName, job.WorkName}, name)
}

// sheets takes in the firm's sheet where it was found above the folder, and the
// logo beside the sheet that names it.
func (p *payload) sheets(j *job.Job) {
	if firm := j.Firm; firm != nil {
		// As it was read.
		p.addBy(firm.File, jobsheet.FirmFile, func() (*os.File, error) { return j.OpenSheet(firm.File) })
	}
	firm, logo := j.Sheet.Firm, j.LogoPath()
	if firm.Logo == "" || job.Within(logo, j.Dir) {
		return
	}
	f, err := j.OpenLogo()
	if err != nil {
		return // a warning of make's
	}
	f.Close()
	name := path.Clean(filepath.ToSlash(firm.Logo))
	if !job.Within(logo, firm.LogoDir) {
		name = p.free(path.Join(job.Elsewhere, filepath.Base(logo)))
	}
	p.addBy(logo, name, j.OpenLogo)
}
