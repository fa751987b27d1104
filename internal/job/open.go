package job

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"pushcue/internal/trouble"
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
	OutName   = "handover"
	BuyerName = "handover-buyer"
	WorkName  = "work"
)

// Open finds the files of a job, or of each job of a visit. It reads job sheets
// and folders only. What is missing or ambiguous is a fault.List.
func Open(ctx context.Context, a Ask) (*Visit, error) {
	dir, sheet, err := Locate(a)
	if err != nil {
		return nil, err
	}
	v := &Visit{Dir: dir, Out: filepath.Join(dir, OutName), Work: filepath.Join(dir, WorkName)}
	if a.For == ForBuyer {
		v.Out = filepath.Join(dir, BuyerName)
	}
	if a.Out != "" {
		if v.Out, err = filepath.Abs(a.Out); err != nil {
			return nil, err
		}
		if real, err := filepath.EvalSymlinks(v.Out); err == nil && IsLink(v.Out) {
			v.Out = real // a link that the user names leads where the user wants
		}
		// Beside it, since the job folder may be one that can't be written to.
		v.Work = v.Out + "-" + WorkName
		if info, err := os.Stat(v.Out); err == nil && !info.IsDir() {
			return nil, fault.Of(fault.Fault{File: a.Out, Text: words.Tell("this is a file, and a handover is a folder"), Hint: words.Tell("name a folder with --out")})
		}
	} else if err := CheckFolders(v.Out, v.Work); err != nil {
		return nil, Shortened(err)
	}
	if v.Reach, err = reachOf(dir, a); err != nil {
		return nil, err
	}
	if IsFile(filepath.Join(dir, jobsheet.VisitFile)) && (sheet == "" || filepath.Base(sheet) == jobsheet.VisitFile) {
		err = v.openVisit(ctx, a)
	} else {
		var job *Job
		if job, err = openJob(ctx, a, dir, sheet); err == nil {
			job.Out, job.Work, job.Top = v.Out, v.Work, v.Work
			v.Jobs = []*Job{job}
		}
	}
	if err != nil {
		return nil, Shortened(err)
	}
	return v, v.keepApart()
}

// Locate tells the job's folder and its sheet, "" for the usual one.
func Locate(a Ask) (dir, sheet string, err error) {
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
		return "", "", fault.Of(fault.Fault{File: a.Path, Text: words.Tell("can't be opened: %s", trouble.PlainCause(err)), Hint: words.Tell("check that you may read it")})
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
		return &trouble.Refusal{Text: words.Tell("--video and --log belong to one job, and this is a visit of several"), Hint: words.Tell("name the job's own folder")}
	}
	v.Many = true
	dirs, err := PushFolders(v.Dir)
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
		name := SourceName(job.Name)
		job.Out, job.Work, job.Top = filepath.Join(v.Out, name), filepath.Join(v.Work, name), v.Work
		if err := CheckFolders(job.Out, job.Work); err != nil {
			return err
		}
		v.Jobs = append(v.Jobs, job)
	}
	if len(v.Jobs) == 0 && len(faults) == 0 {
		return fault.Of(fault.Fault{File: v.Dir, Text: words.Tell("the visit holds no job folder"), Hint: words.Tell("put each push into a folder of its own, with its recording and its log")})
	}
	return faults.Err()
}

// PushFolders are the folders of a visit that hold a job sheet or a recording.
func PushFolders(visit string) ([]string, error) {
	entries, err := os.ReadDir(visit)
	if err != nil {
		return nil, err
	}
	var dirs []string
	for _, e := range sortedNaturally(entries) {
		dir := filepath.Join(visit, e.Name())
		if e.IsDir() && !isOurs(e.Name()) && (IsFile(filepath.Join(dir, jobsheet.JobFile)) || holdsVideo(dir)) {
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
		return &trouble.Refusal{Text: words.Tell("%s holds %s, so the handover can't be written there", v.Out, what), Hint: words.Tell("name a new folder with --out")}
	}
	for _, j := range v.Jobs {
		if out == resolved(j.Dir) && IsFile(filepath.Join(j.Dir, jobsheet.JobFile)) {
			return refuse("the job sheet")
		}
		for _, s := range j.Files() {
			if Within(resolved(filepath.Dir(s.Path)), out) {
				return refuse(s.Name)
			}
		}
	}
	return nil
}

func (j *Job) Needed() []Source {
	all := slices.Clone(j.Videos)
	for _, s := range []*Source{j.Log, j.Kinds, j.Readings} {
		if s != nil {
			all = append(all, *s)
		}
	}
	return all
}

// Files is every file that may be used: one of these that can't be read is no reason to
// make nothing, as one of the sources is.
func (j *Job) Files() []Source { return slices.Concat(j.Needed(), j.Spoken, j.Photos) }

// openJob finds the files of one job.
func openJob(ctx context.Context, a Ask, dir, sheet string) (*Job, error) {
	list := &edits.List{}
	if a.Path != "" { // else only what the command line names is meant
		var err error
		if list, err = ReadEdits(dir); err != nil {
			return nil, err
		}
	}
	return openCorrected(ctx, a, dir, sheet, list)
}

// openCorrected finds the files of one job with its sheet corrected by list.
func openCorrected(ctx context.Context, a Ask, dir, sheet string, list *edits.List) (*Job, error) {
	j, err := OpenSheets(ctx, a, dir, sheet, list)
	if err != nil {
		return nil, err
	}
	if a.For == ForBuyer {
		if j.Sheet.Buyer.Sound != "keep" {
			j.Sheet.Recording.DropSound = true
		}
		j.Unsaid = Unsaid{Customer: j.Sheet.Customer}
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
		j.Asked, faults = faults, nil
	}
	return j, faults.Err()
}

// OpenSheets reads the sheets of one job, corrected by list; its other files aren't looked for.
func OpenSheets(ctx context.Context, a Ask, dir, sheet string, list *edits.List) (*Job, error) {
	may, err := reachOf(dir, a)
	if err != nil {
		return nil, err
	}
	j := &Job{Name: FolderName(dir), Dir: dir, Edits: list, Ask: a, Reach: may}
	sheets, err := jobsheet.Find(ctx, jobsheet.Place{Dir: dir, Sheet: sheet, Settings: a.Settings}, j.sheetOpener)
	if err != nil {
		return nil, err
	}
	j.Firm = sheets.Firm
	if sheets.Job != nil {
		j.SheetPath = sheets.Job.File
	}
	var unfit fault.List
	if j.Sheet, unfit, err = jobsheet.ReadCorrected(sheets, list.Corrections()); err != nil {
		return nil, err
	}
	j.UnfitSheet = list.UnfitSheet(unfit)
	j.takeChosenLogo()
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
		return unreadable(fault.Fault{File: j.SheetName(), Column: key, Value: file}, err,
			func(cause words.Sentence) words.Sentence { return words.Tell("can't be read: %s", cause) }, namedHint)
	}
	*into = &s
	return nil
}

var namedHint = words.Tell(`check the name, blanks at its ends too; it counts from the job folder, and \ is the same as /`)

func (j *Job) SheetName() string {
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
	if _, err := j.Reach.Stat(path); err != nil && !Within(path, j.Dir) {
		// In a job unpacked from an archive, what lay outside it stands in a folder of its own.
		for _, dir := range j.Reach.Folders {
			kept := filepath.Join(dir, Elsewhere, filepath.Base(path))
			if info, err := j.Reach.Stat(kept); err == nil && info.Mode().IsRegular() {
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
