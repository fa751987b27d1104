package handover

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"pushcue/timeline/edits"
	"pushcue/timeline/fault"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/words"
)

// An Ask says which job is meant. What Videos, Log and Out name stands in for
// what a job sheet or the job folder would say.
type Ask struct {
	Path     string   // job folder, visit folder or job.toml; "" when Videos says all
	Videos   []string // parts of the recording, in order
	Log      string
	Out      string // the handover folder itself
	For      string // as Options.For
	Settings string // folder of the user's settings; "" for none
	Key      string // file with the key of what is kept in work folders; "" for work.key in Settings
	Outside  bool   // what the job names may lie anywhere

	// ToAsk opens a job although a file beside its recording can't be told, as where
	// two could be the log: a person is there who can be asked. Placing then fails
	// with those faults.
	ToAsk bool
}

// Our folders in a job folder. They hold no sources.
const (
	outName   = "handover"
	buyerName = "handover-buyer"
	workName  = "work"
)

// Open finds the files of a job, or of each job of a visit. It reads job sheets
// and folders only. What is missing or ambiguous is a fault.List.
func Open(ctx context.Context, a Ask) (*Visit, error) {
	dir, sheet, err := locate(a)
	if err != nil {
		return nil, err
	}
	v := &Visit{Dir: dir, Out: filepath.Join(dir, outName), Work: filepath.Join(dir, workName)}
	if a.For == forBuyer {
		v.Out = filepath.Join(dir, buyerName)
	}
	if a.Out != "" {
		if v.Out, err = filepath.Abs(a.Out); err != nil {
			return nil, err
		}
		if real, err := filepath.EvalSymlinks(v.Out); err == nil && isLink(v.Out) {
			v.Out = real // a link that the user names leads where the user wants
		}
		// Beside it, since the job folder may be one that can't be written to.
		v.Work = v.Out + "-" + workName
		if info, err := os.Stat(v.Out); err == nil && !info.IsDir() {
			return nil, fault.Of(fault.Fault{File: a.Out, Text: words.Tell("this is a file, and a handover is a folder"), Hint: words.Tell("name a folder with --out")})
		}
	} else if err := checkFolders(v.Out, v.Work); err != nil {
		return nil, shortened(err)
	}
	if v.reach, err = reachOf(dir, a); err != nil {
		return nil, err
	}
	if isFile(filepath.Join(dir, jobsheet.VisitFile)) && (sheet == "" || filepath.Base(sheet) == jobsheet.VisitFile) {
		err = v.openVisit(ctx, a)
	} else {
		var job *Job
		if job, err = openJob(ctx, a, dir, sheet); err == nil {
			job.out, job.work, job.top = v.Out, v.Work, v.Work
			v.Jobs = []*Job{job}
		}
	}
	if err != nil {
		return nil, shortened(err)
	}
	return v, v.keepApart()
}

// locate tells the job's folder and its sheet, "" for the usual one.
func locate(a Ask) (dir, sheet string, err error) {
	if a.Path == "" {
		dir, err = os.Getwd()
		return dir, "", err
	}
	path, err := filepath.Abs(a.Path)
	if err != nil {
		return "", "", err
	}
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "", "", fault.Of(fault.Fault{File: a.Path, Text: words.Tell("there is no such job folder or job sheet"), Hint: words.Tell("check the name; `pushcue new` makes a job folder")})
	case err != nil:
		return "", "", fault.Of(fault.Fault{File: a.Path, Text: words.Tell("can't be opened: %s", plainCause(err)), Hint: words.Tell("check that you may read it")})
	case info.IsDir():
		return path, "", nil
	case strings.EqualFold(filepath.Ext(path), ".toml"):
		return filepath.Dir(path), path, nil
	}
	return "", "", fault.Of(fault.Fault{
		File: a.Path, Text: words.Tell("is neither a job folder nor a job.toml"),
		Hint: words.Tell("name the folder that holds the recording, or give the recording with --video and the log with --log"),
	})
}

// openVisit opens each folder of the visit that holds a job sheet or a recording.
func (v *Visit) openVisit(ctx context.Context, a Ask) error {
	if len(a.Videos) > 0 || a.Log != "" {
		return &Refusal{Text: words.Tell("--video and --log belong to one job, and this is a visit of several"), Hint: words.Tell("name the job's own folder")}
	}
	v.Many = true
	dirs, err := pushFolders(v.Dir)
	if err != nil {
		return err
	}
	var faults fault.List
	for _, dir := range dirs {
		job, err := openJob(ctx, a, dir, "")
		if list, ok := fault.In(err); ok {
			faults = append(faults, list...)
			continue
		}
		if err != nil {
			return err
		}
		name := sourceName(job.Name)
		job.out, job.work, job.top = filepath.Join(v.Out, name), filepath.Join(v.Work, name), v.Work
		if err := checkFolders(job.out, job.work); err != nil {
			return err
		}
		v.Jobs = append(v.Jobs, job)
	}
	if len(v.Jobs) == 0 && len(faults) == 0 {
		return fault.Of(fault.Fault{File: v.Dir, Text: words.Tell("the visit holds no job folder"), Hint: words.Tell("put each push into a folder of its own, with its recording and its log")})
	}
	return faults.Err()
}

// pushFolders are the folders of a visit that hold a job sheet or a recording.
func pushFolders(visit string) ([]string, error) {
	entries, err := os.ReadDir(visit)
	if err != nil {
		return nil, err
	}
	var dirs []string
	for _, e := range sortedNaturally(entries) {
		dir := filepath.Join(visit, e.Name())
		if e.IsDir() && !isOurs(e.Name()) && (isFile(filepath.Join(dir, jobsheet.JobFile)) || holdsVideo(dir)) {
			dirs = append(dirs, dir)
		}
	}
	return dirs, nil
}

// keepApart refuses a handover folder in which our files would stand among the
// sources or take their names.
func (v *Visit) keepApart() error {
	out := resolved(v.Out)
	refuse := func(what string) error {
		return &Refusal{Text: words.Tell("%s holds %s, so the handover can't be written there", v.Out, what), Hint: words.Tell("name a new folder with --out")}
	}
	for _, j := range v.Jobs {
		if out == resolved(j.Dir) && isFile(filepath.Join(j.Dir, jobsheet.JobFile)) {
			return refuse("the job sheet")
		}
		for _, s := range j.all() {
			if within(resolved(filepath.Dir(s.Path)), out) {
				return refuse(s.Name)
			}
		}
	}
	return nil
}

func (j *Job) sources() []Source {
	all := slices.Clone(j.Videos)
	for _, s := range []*Source{j.Log, j.Kinds, j.Readings} {
		if s != nil {
			all = append(all, *s)
		}
	}
	return all
}

// all is every file that may be used: one of these that can't be read is no reason to
// make nothing, as one of the sources is.
func (j *Job) all() []Source { return slices.Concat(j.sources(), j.Spoken, j.Photos) }

// openJob finds the files of one job.
func openJob(ctx context.Context, a Ask, dir, sheet string) (*Job, error) {
	list := &edits.List{}
	if a.Path != "" { // else only what the command line names is meant
		var err error
		if list, err = readEdits(dir); err != nil {
			return nil, err
		}
	}
	return openCorrected(ctx, a, dir, sheet, list)
}

// openCorrected finds the files of one job with its sheet corrected by list.
func openCorrected(ctx context.Context, a Ask, dir, sheet string, list *edits.List) (*Job, error) {
	j, err := openSheets(ctx, a, dir, sheet, list)
	if err != nil {
		return nil, err
	}
	if a.For == forBuyer {
		if j.Sheet.Buyer.Sound != "keep" {
			j.Sheet.Recording.DropSound = true
		}
		j.unsaid = unsaid{j.Sheet.Customer}
		j.Sheet.Customer = jobsheet.Contact{}
	}
	var faults fault.List
	take := func(err error) error {
		list, ok := fault.In(err)
		faults = append(faults, list...)
		if ok {
			return nil
		}
		return err
	}
	err = errors.Join(
		take(j.findVideos(a)),
		take(j.findLog(a)),
		take(j.findAttached(a)),
		take(j.named(&j.Kinds, j.Sheet.Log.Kinds, "log.kinds")),
		take(j.named(&j.Readings, j.Sheet.Distance.Readings, "distance.readings")),
	)
	if err != nil {
		return nil, err
	}
	if a.ToAsk && len(j.Videos) > 0 && !slices.ContainsFunc(faults, j.ofRecording) {
		j.open, faults = faults, nil
	}
	return j, faults.Err()
}

// openSheets reads the sheets of one job, corrected by list; its other files aren't looked for.
func openSheets(ctx context.Context, a Ask, dir, sheet string, list *edits.List) (*Job, error) {
	may, err := reachOf(dir, a)
	if err != nil {
		return nil, err
	}
	j := &Job{Name: FolderName(dir), Dir: dir, Edits: list, ask: a, reach: may}
	sheets, err := jobsheet.Find(ctx, jobsheet.Place{Dir: dir, Sheet: sheet, Settings: a.Settings}, j.sheetOpener)
	if err != nil {
		return nil, err
	}
	j.firm = sheets.Firm
	if sheets.Job != nil {
		j.sheetPath = sheets.Job.File
	}
	var unfit fault.List
	if j.Sheet, unfit, err = jobsheet.ReadCorrected(sheets, list.Corrections()); err != nil {
		return nil, err
	}
	j.unfit = list.UnfitSheet(unfit)
	return j, nil
}

// ofRecording tells a fault of one of the recording's parts.
func (j *Job) ofRecording(f fault.Fault) bool {
	return slices.ContainsFunc(j.Videos, func(s Source) bool { return s.Name == f.File })
}

// named opens what a key of the job sheet names.
func (j *Job) named(into **Source, file, key string) error {
	if file == "" {
		return nil
	}
	s := j.source(file)
	if err := j.readable(s); err != nil {
		return unreadable(fault.Fault{File: j.sheetName(), Column: key, Value: file}, err,
			func(cause words.Sentence) words.Sentence { return words.Tell("can't be read: %s", cause) }, namedHint)
	}
	*into = &s
	return nil
}

var namedHint = words.Tell(`check the name, blanks at its ends too; it counts from the job folder, and \ is the same as /`)

func (j *Job) sheetName() string {
	if j.Sheet.File != "" {
		return j.Sheet.File
	}
	return jobsheet.JobFile
}

// source is a file named by the job sheet.
func (j *Job) source(file string) Source {
	path := filepath.FromSlash(file)
	if !filepath.IsAbs(path) {
		path = filepath.Join(j.Dir, path)
	}
	path = filepath.Clean(path)
	if _, err := j.reach.Stat(path); err != nil && !within(path, j.Dir) {
		// In a job unpacked from an archive, what lay outside it stands in a folder of its own.
		for _, dir := range j.reach.Folders {
			kept := filepath.Join(dir, elsewhere, filepath.Base(path))
			if info, err := j.reach.Stat(kept); err == nil && info.Mode().IsRegular() {
				path = kept
				break
			}
		}
	}
	return Source{Path: path, Name: filepath.ToSlash(file)}
}

// given is a file named on the command line.
func (j *Job) given(file string) (Source, error) {
	path, err := filepath.Abs(file)
	if err != nil {
		return Source{}, err
	}
	name := filepath.Base(path)
	if rel, err := filepath.Rel(j.Dir, path); err == nil && filepath.IsLocal(rel) {
		name = filepath.ToSlash(rel)
	}
	return Source{Path: path, Name: name}, nil
}
