package handover

import (
	"context"
	"errors"
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"pushcue/internal/manifest"
	"pushcue/internal/reach"
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
func Finish(ctx context.Context, a Ask) (*Finished, error) {
	dir, _, err := locate(a)
	if err != nil {
		return nil, err
	}
	f := &Finished{Dir: filepath.Join(dir, outName), work: filepath.Join(dir, workName)}
	switch {
	case a.Out != "":
		if f.Dir, err = filepath.Abs(a.Out); err != nil {
			return nil, err
		}
		if real, err := filepath.EvalSymlinks(f.Dir); err == nil && isLink(f.Dir) {
			f.Dir = real
		}
		f.work = f.Dir + "-" + workName // as Open has it
	case isFile(filepath.Join(dir, sumsName)):
		f.Dir, f.work = dir, filepath.Join(filepath.Dir(dir), workName)
	case a.For == forBuyer:
		f.Dir = filepath.Join(dir, buyerName)
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if a.Out == "" {
		if err := checkFolders(f.Dir, f.work); err != nil {
			return nil, shortened(err)
		}
	}
	if f.List, err = readList(f.Dir); err != nil {
		return nil, shortened(err)
	}
	f.read(dir)
	f.Own = ownFolders(dir, f, a)
	if f.ForBuyer = a.For == forBuyer || filepath.Base(f.Dir) == buyerName; f.ForBuyer {
		f.Name += "-" + forBuyer
		f.Kept += "-" + forBuyer
	}
	return f, nil
}

// ownFolders are the handover's own, the job's, and the visit's that it is part of.
func ownFolders(dir string, f *Finished, a Ask) []string {
	own := []string{f.Dir}
	if a.Path == "" {
		return own // of no job folder
	}
	if dir == f.Dir { // it was named itself: it may stand on a drive
		dir = filepath.Dir(dir)
		name := strings.ToLower(filepath.Base(f.Dir))
		if _, _, isJob := LooksLike(dir); name != outName && name != buyerName || !isJob {
			return own
		}
	}
	own = append(own, dir)
	if above := filepath.Dir(dir); isFile(filepath.Join(above, jobsheet.VisitFile)) {
		own = append(own, above)
	}
	return own
}

func readList(dir string) ([]manifest.Entry, error) {
	list, err := reach.Beneath(dir, sumsName, sumsBytes)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fault.Of(fault.Fault{File: dir, Text: words.Tell("there is no finished handover"), Hint: words.Tell("run `pushcue make` first, to its end")})
	}
	if err != nil {
		return nil, fault.Of(fault.Fault{File: dir, Text: words.Tell("the list of sums can't be read: %s", plainCause(err)), Hint: hintOf(err, words.Tell("check that you may read it"))})
	}
	defer list.Close()
	entries, err := manifest.ReadCoreutils(list, manifest.SHA256)
	if err != nil {
		return nil, fault.Of(fault.Fault{File: filepath.Join(dir, sumsName), Text: words.Of(err), Hint: words.Tell("run `pushcue make` again to write it anew")})
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
		text, err := reach.ReadBeneath(f.Dir, e.Name, documentBytes)
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
		i := slices.IndexFunc(names, func(n string) bool { w := plainWord(n, longestWord); return w != "" && !isDeviceName(w) })
		if i < 0 {
			return "recording"
		}
		return plainWord(names[i], longestWord)
	}
	f.Kept = named(reference+" "+line, FolderName(dir))
	if f.namesTheCustomer(line) {
		line = ""
	}
	if plainWord(reference, longestWord) == "" || f.namesTheCustomer(reference) {
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
	return slices.ContainsFunc(known, func(c jobsheet.Contact) bool { whole, part := (unsaid{c}).in(text); return whole+part != "" })
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
	return plainWord(name, longestWord)
}

// Compare reads the whole handover and returns what isn't as its list says.
func (f *Finished) Compare(ctx context.Context, progress manifest.Progress) ([]manifest.Finding, error) {
	return manifest.Compare(ctx, f.Dir, f.List, manifest.Options{
		Skip:     func(name string) bool { return name == sumsName || manifest.IsLitter(name) },
		Progress: progress,
	})
}
