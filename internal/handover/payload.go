package handover

import (
	"context"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"pushcue/internal/manifest"
	"pushcue/timeline/jobsheet"
)

// A Kept is one file of what an archive of a job takes in.
type Kept struct {
	Path string // absolute
	Name string // in the archive's data folder, forward slashes
}

// elsewhere is the archive's folder for sources that lie outside the job folder.
const elsewhere = "elsewhere"

// Payload lists what an archive keeps of a job or a visit: all that came home, the
// handover, and the sheets found above, laid out so that the handover can be made
// again from the archive's data folder. Our own work folder, another reader's
// handover and earlier archives stay out. outside names the sources that lie outside
// the job folder: a remake must be told where they are.
func (v *Visit) Payload(ctx context.Context, f *Finished) (files []Kept, outside []string, err error) {
	p := &payload{taken: map[string]bool{}}
	base := ""
	if !v.Many && isFile(filepath.Join(filepath.Dir(v.Dir), jobsheet.VisitFile)) {
		// Beside the job's own folder, where it is looked for.
		base = filepath.Base(v.Dir) + "/"
		p.add(filepath.Join(filepath.Dir(v.Dir), jobsheet.VisitFile), jobsheet.VisitFile)
	}
	if err := p.walk(ctx, v, base); err != nil {
		return nil, nil, err
	}
	for _, e := range append(listed(f), sumsName) {
		p.add(filepath.Join(f.Dir, filepath.FromSlash(e)), base+outName+"/"+e)
	}
	for _, j := range v.Jobs {
		p.sheets(j)
		for _, s := range j.all() {
			if within(s.Path, v.Dir) {
				continue
			}
			name := p.free(path.Join(elsewhere, filepath.Base(s.Path)))
			p.add(s.Path, name)
			outside = append(outside, name)
		}
	}
	slices.SortFunc(p.files, func(a, b Kept) int { return strings.Compare(a.Name, b.Name) })
	return p.files, outside, nil
}

func listed(f *Finished) []string {
	all := make([]string, len(f.List))
	for i, e := range f.List {
		all[i] = e.Name
	}
	return all
}

type payload struct {
	files []Kept
	taken map[string]bool // paths
}

func (p *payload) add(path, name string) {
	if !p.taken[path] {
		p.taken[path] = true
		p.files = append(p.files, Kept{Path: path, Name: name})
	}
}

// free makes a name that no file has yet.
func (p *payload) free(name string) string {
	all := []string{}
	for _, f := range p.files {
		all = append(all, f.Name)
	}
	named := distinct(append(all, name))
	return named[len(named)-1]
}

// walk takes in the folder itself. A link is followed, so that the bytes are kept and
// not only their place; one that leads back to a folder taken in already is not.
func (p *payload) walk(ctx context.Context, v *Visit, base string) error {
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
			info, err := os.Stat(at)
			if err != nil { // a link that leads nowhere, or gone since
				continue
			}
			switch {
			case info.IsDir():
				if p.ours(v, at) || isFile(filepath.Join(at, "bagit.txt")) || strings.HasPrefix(e.Name(), ".unfinished-") {
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
func (p *payload) ours(v *Visit, dir string) bool {
	name, parent := filepath.Base(dir), filepath.Dir(dir)
	ofJob := parent == v.Dir || slices.ContainsFunc(v.Jobs, func(j *Job) bool { return j.Dir == parent })
	return dir == v.Out || dir == v.Work || ofJob && slices.Contains([]string{outName, buyerName, workName}, name)
}

// sheets takes in the firm's sheet where it was found above the folder, and the
// logo beside the sheet that names it.
func (p *payload) sheets(j *Job) {
	if j.firm != nil && isFile(j.firm.File) {
		p.add(j.firm.File, jobsheet.FirmFile)
	}
	firm := j.Sheet.Firm
	if firm.Logo == "" {
		return
	}
	logo := Source{Name: firm.Logo, Path: filepath.FromSlash(firm.Logo)}
	if !filepath.IsAbs(logo.Path) {
		logo.Path = filepath.Join(firm.LogoDir, logo.Path)
	}
	switch {
	case !isFile(logo.Path) || within(logo.Path, j.Dir):
	case within(logo.Path, firm.LogoDir):
		p.add(logo.Path, path.Clean(filepath.ToSlash(firm.Logo)))
	default:
		p.add(logo.Path, p.free(path.Join(elsewhere, filepath.Base(logo.Path))))
	}
}
