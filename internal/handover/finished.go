package handover

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"pushcue/internal/job"
	"pushcue/internal/manifest"
	"pushcue/internal/reach"
	"pushcue/internal/safefile"
	"pushcue/internal/shelf"
	"pushcue/internal/trouble"
	"pushcue/timeline/document"
	"pushcue/timeline/fault"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/words"
)

// A Finished is a handover that Make brought to its end: its list of sums stands.
type Finished struct {
	Dir  string // absolute: the handover folder
	Name string // of a copy's folder: by the firm's number and the line, else by date and a code
	Kept string // of an archive, which stays in the house: where the firm has no number, by the job's folder
	List []manifest.Entry
	Job  *document.Job // of the first push
	Own  []string      // absolute: folders in which no copy and no archive of it belongs

	ForBuyer bool // it was made for a reader who isn't the customer

	recording string // sum of its first part
	work      string // the work folder of the job or visit, whether it exists or not
}

// Finish finds the handover of a job or a visit by its list of sums. The recording
// may be elsewhere by now. a.Path may name a handover folder as well. One that isn't
// there, or isn't finished, is a fault.List.
func Finish(ctx context.Context, a job.Ask) (*Finished, error) {
	dir, _, err := job.Locate(a)
	if err != nil {
		return nil, err
	}
	f := &Finished{Dir: filepath.Join(dir, job.OutName), work: filepath.Join(dir, job.WorkName)}
	switch {
	case a.Out != "":
		if f.Dir, err = filepath.Abs(a.Out); err != nil {
			return nil, err
		}
		if real, err := filepath.EvalSymlinks(f.Dir); err == nil && job.IsLink(f.Dir) {
			f.Dir = real
		}
		f.work = f.Dir + "-" + job.WorkName // as Open has it
	case job.IsFile(filepath.Join(dir, shelf.SumsName)):
		f.Dir, f.work = dir, filepath.Join(filepath.Dir(dir), job.WorkName)
	case a.For == job.ForBuyer:
		f.Dir = filepath.Join(dir, job.BuyerName)
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if a.Out == "" {
		if err := job.CheckFolders(f.Dir, f.work); err != nil {
			return nil, job.Shortened(err)
		}
	}
	if f.List, err = readList(f.Dir); err != nil {
		return nil, job.Shortened(err)
	}
	f.read(dir)
	f.Own = ownFolders(dir, f, a)
	if f.ForBuyer = a.For == job.ForBuyer || filepath.Base(f.Dir) == job.BuyerName; f.ForBuyer {
		f.Name += "-" + job.ForBuyer
		f.Kept += "-" + job.ForBuyer
	}
	return f, nil
}

// ownFolders are the handover's own, the job's, and the visit's that it is part of.
func ownFolders(dir string, f *Finished, a job.Ask) []string {
	own := []string{f.Dir}
	if a.Path == "" {
		return own // of no job folder
	}
	if dir == f.Dir { // it was named itself: it may stand on a drive
		dir = filepath.Dir(dir)
		name := strings.ToLower(filepath.Base(f.Dir))
		if _, _, isJob := job.LooksLike(dir); name != job.OutName && name != job.BuyerName || !isJob {
			return own
		}
	}
	own = append(own, dir)
	if above := filepath.Dir(dir); job.IsFile(filepath.Join(above, jobsheet.VisitFile)) {
		own = append(own, above)
	}
	return own
}

func readList(dir string) ([]manifest.Entry, error) {
	list, err := reach.Beneath(dir, shelf.SumsName, job.SumsBytes)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fault.Of(fault.Fault{File: dir, Text: words.Tell("there is no finished handover"), Hint: words.Tell("run `pushcue make` first, to its end")})
	}
	if err != nil {
		return nil, fault.Of(fault.Fault{File: dir, Text: words.Tell("the list of sums can't be read: %s", trouble.PlainCause(err)), Hint: job.HintOf(err, words.Tell("check that you may read it"))})
	}
	defer list.Close()
	entries, err := manifest.ReadCoreutils(list, manifest.SHA256)
	if err != nil {
		return nil, fault.Of(fault.Fault{File: filepath.Join(dir, shelf.SumsName), Text: words.Of(err), Hint: words.Tell("run `pushcue make` again to write it anew")})
	}
	return entries, nil
}

// read takes the names from what the handover says of itself.
func (f *Finished) read(dir string) {
	pushes := 0
	for _, e := range f.List {
		if path.Base(e.Name) != timelineName {
			continue
		}
		pushes++
		text, err := reach.ReadBeneath(f.Dir, e.Name, job.DocumentBytes)
		if f.Job == nil && err == nil {
			f.Job, f.recording, _ = document.ReadJob(text)
		}
	}
	if f.Job == nil {
		f.Job = &document.Job{}
	}
	reference, line := word(f.Job.Reference), word(f.Job.Line.Name)
	if pushes != 1 { // a visit isn't one line's
		line = ""
	}
	named := func(names ...string) string {
		i := slices.IndexFunc(names, func(n string) bool { w := job.PlainWord(n, job.LongestWord); return w != "" && !job.IsDeviceName(w) })
		if i < 0 {
			return "recording"
		}
		return job.PlainWord(names[i], job.LongestWord)
	}
	f.Kept = named(reference+" "+line, job.FolderName(dir))
	if f.namesTheCustomer(line) {
		line = ""
	}
	if job.PlainWord(reference, job.LongestWord) == "" || f.namesTheCustomer(reference) {
		f.Name = f.anonymous()
		return
	}
	f.Name = named(reference + " " + line)
}

func word(s *string) string {
	if s == nil {
		return ""
	}
	return *s
}

// namesTheCustomer reports whether a text tells who the customer is or where it was done: whoever
// finds a lost drive isn't to read it on the outside.
func (f *Finished) namesTheCustomer(text string) bool {
	var known []jobsheet.Contact
	if c := f.Job.Customer; c != nil {
		known = append(known, contactOf(c), jobsheet.Contact{Name: word(c.Address)})
	}
	if s := f.Job.Site; s != nil {
		known = append(known, jobsheet.Contact{Name: word(s.Address)})
	}
	return slices.ContainsFunc(known, func(c jobsheet.Contact) bool {
		whole, part := (job.Unsaid{Customer: c}).In(text)
		return whole+part != ""
	})
}

// anonymous names a copy's folder where the firm gave no number: by the day and a code that comes
// from the recording, so that a corrected handover goes into the same folder.
func (f *Finished) anonymous() string {
	name := "recording"
	if date := word(f.Job.Date); date != "" {
		name = date
	}
	if len(f.recording) >= 6 {
		name += "-" + f.recording[:6]
	}
	return job.PlainWord(name, job.LongestWord)
}

// Compare reads the whole handover and returns what isn't as its list says.
func (f *Finished) Compare(ctx context.Context, progress manifest.Progress) ([]manifest.Finding, error) {
	return manifest.Compare(ctx, f.Dir, f.List, manifest.Options{
		Skip:     func(name string) bool { return name == shelf.SumsName || manifest.IsLitter(name) },
		Progress: progress,
	})
}

// Hold keeps Make away from a finished handover while it is being read; several
// readers may hold it. It fails with *trouble.Trouble while Make is at work. Where there is
// no work folder nothing is held: Make hasn't begun, and a later change shows in
// the sums. release gives it back.
func (f *Finished) Hold() (release func(), err error) {
	work, err := safefile.OpenWithin(f.work, f.work, nil)
	var in *os.File
	if err == nil {
		in, err = work.Open(shelf.LockName)
		work.Close()
	}
	if errors.Is(err, safefile.ErrLink) {
		return nil, trouble.Writing(filepath.Join(f.work, shelf.LockName), err)
	}
	if err != nil {
		return func() {}, nil
	}
	taken, err := safefile.Lock(in, false)
	if err != nil {
		taken = !shelf.HolderAlive(in)
	}
	if !taken {
		defer in.Close()
		return nil, shelf.AtWork(f.work, in)
	}
	return func() { _ = safefile.Unlock(in); in.Close() }, nil
}
