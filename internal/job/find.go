package job

import (
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"sort"
	"strings"

	"pushcue/internal/trouble"
	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// Endings of recordings and of logs, as they are looked for in a job folder.
var (
	VideoEndings = []string{
		".mp4", ".m4v", ".mov", ".3gp", ".3g2", ".avi", ".mkv", ".webm", ".ts", ".mts", ".m2ts",
		".mpg", ".mpeg", ".vob", ".mod", ".asf", ".wmv", ".flv", ".dv", ".mxf",
	}
	logEndings = []string{".csv", ".tsv", ".txt", ".xlsx"}
)

// isOurs names the folders of a job that never hold a part of the recording.
func isOurs(folder string) bool {
	return slices.Contains([]string{OutName, BuyerName, WorkName, "spoken", "photos"}, strings.ToLower(folder))
}

func HasEnding(name string, endings []string) bool {
	return slices.Contains(endings, strings.ToLower(filepath.Ext(name)))
}

// findVideos takes the parts from the command line, else from the job sheet, else
// the folder's own by name.
func (j *Job) findVideos(a Ask) error {
	var faults fault.List
	switch {
	case len(a.Videos) > 0:
		for _, file := range a.Videos {
			s, err := j.given(file)
			if err != nil {
				return err
			}
			j.Videos = append(j.Videos, s)
		}
	case len(j.Sheet.Recording.Files) > 0:
		for _, file := range j.Sheet.Recording.Files {
			j.Videos = append(j.Videos, j.source(file))
		}
	default:
		names, err := namesIn(j.Dir, VideoEndings)
		if err != nil {
			return err
		}
		for _, name := range names {
			j.Videos = append(j.Videos, j.source(name))
		}
	}
	if len(j.Videos) == 0 {
		return fault.Of(fault.Fault{
			File: j.Dir, Text: noRecording(j.Dir),
			Hint: words.Tell("put the video files into it, or name them in job.toml under [recording] as files = [\"…\"]"),
		})
	}
	seen := map[string]bool{}
	for _, s := range j.Videos {
		if err := j.readable(s); err != nil {
			faults = append(faults, fault.Fault{File: s.Name, Text: words.Tell("the recording can't be read: %s", trouble.PlainCause(err)), Hint: HintOf(err, namedHint)})
			continue
		}
		if seen[resolved(s.Path)] {
			faults = append(faults, fault.Fault{File: s.Name, Text: words.Tell("is named twice as a part of the recording"), Hint: words.Tell("name each part once, in the order in which they were filmed")})
		}
		seen[resolved(s.Path)] = true
	}
	return faults.Err()
}

// findLog takes the log from the command line, else from the job sheet, else
// log.csv and its like. A folder with some other table in it is asked about, since
// a handover without its observations would look like a clean pipe.
func (j *Job) findLog(a Ask) error {
	if a.Log != "" {
		s, err := j.given(a.Log)
		if err != nil {
			return err
		}
		return j.takeLog(s, a.Log)
	}
	if j.Sheet.Log.File != "" {
		return j.named(&j.Log, j.Sheet.Log.File, "log.file")
	}
	if a.Path == "" {
		return nil // only what the command line names is meant
	}
	tables, err := namesIn(j.Dir, logEndings)
	if err != nil {
		return err
	}
	tables = slices.DeleteFunc(tables, func(name string) bool {
		return name == j.Sheet.Log.Kinds || name == j.Sheet.Distance.Readings
	})
	logs := slices.DeleteFunc(slices.Clone(tables), func(name string) bool {
		return !strings.EqualFold(strings.TrimSuffix(name, filepath.Ext(name)), "log")
	})
	others := slices.DeleteFunc(tables, func(name string) bool { return strings.EqualFold(filepath.Ext(name), ".txt") })
	switch {
	case len(logs) == 1:
		return j.takeLog(j.source(logs[0]), logs[0])
	case len(logs) > 1:
		return fault.Of(askWhich(j, logs, words.Tell("several files could be the log: %s", strings.Join(logs, ", "))))
	case len(others) > 0:
		return fault.Of(askWhich(j, others, words.Tell("no file is named log.csv or its like, but there is %s", strings.Join(others, ", "))))
	}
	return nil
}

// takeLog makes s the job's log; messages call it named.
func (j *Job) takeLog(s Source, named string) error {
	if err := j.readable(s); err != nil {
		return unreadable(fault.Fault{File: named}, err,
			func(cause words.Sentence) words.Sentence { return words.Tell("the log can't be read: %s", cause) }, words.Tell("check the name"))
	}
	j.Log = &s
	return nil
}

func askWhich(j *Job, names []string, text words.Sentence) fault.Fault {
	f := fault.Fault{
		File: j.Dir, Text: text,
		Hint: words.Tell("add to job.toml under [log] the line: file = %q", names[0]),
	}
	for _, name := range names {
		f.Choices = append(f.Choices, fault.Choice{Label: words.Plain("%s", name), Key: "log.file", Value: name})
	}
	return f
}

// namesIn lists the files of a folder that have one of the endings, as people
// count. Hidden ones are passed over: some systems leave them beside each file. Pipes,
// links and the like are listed as well, so that whoever opens them tells of them.
// noRecording says that a folder holds no recording, and names the files in it that were
// passed over.
func noRecording(dir string) words.Sentence {
	const most = 5
	entries, err := os.ReadDir(dir)
	if err != nil {
		return words.Tell("holds no recording")
	}
	var passed []words.Sentence
	for _, e := range sortedNaturally(entries) {
		if e.IsDir() || strings.HasPrefix(e.Name(), ".") || HasEnding(e.Name(), ours) {
			continue
		}
		if len(passed) == most {
			passed = append(passed, words.Plain("…"))
			break
		}
		passed = append(passed, words.Plain("%s", words.Quoted(e.Name())))
	}
	if len(passed) == 0 {
		return words.Tell("holds no recording")
	}
	return words.Tell("holds no recording; these files in it aren't taken for one: %s", words.Join(passed, words.Comma))
}

// ours are endings of a job's files that nobody would take for a recording.
var ours = []string{".toml", ".jsonl", ".csv", ".tsv", ".txt", ".xlsx"}

func namesIn(dir string, endings []string) ([]string, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, fault.Of(fault.Fault{File: dir, Text: words.Tell("the folder can't be read: %s", trouble.PlainCause(err)), Hint: words.Tell("check that you may read it")})
	}
	var names []string
	for _, e := range sortedNaturally(entries) {
		if !strings.HasPrefix(e.Name(), ".") && HasEnding(e.Name(), endings) && !e.IsDir() {
			names = append(names, e.Name())
		}
	}
	return names, nil
}

func sortedNaturally(entries []fs.DirEntry) []fs.DirEntry {
	sort.SliceStable(entries, func(a, b int) bool { return naturalLess(entries[a].Name(), entries[b].Name()) })
	return entries
}

func holdsVideo(dir string) bool {
	names, err := namesIn(dir, VideoEndings)
	return err == nil && len(names) > 0
}

func IsFile(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.Mode().IsRegular()
}

// resolved is the path behind links, as far as it exists.
func resolved(path string) string {
	if real, err := filepath.EvalSymlinks(path); err == nil {
		return real
	}
	parent := filepath.Dir(path)
	if parent == path {
		return path
	}
	return filepath.Join(resolved(parent), filepath.Base(path))
}

// Within reports whether path is dir or lies below it.
func Within(path, dir string) bool {
	rel, err := filepath.Rel(dir, path)
	return err == nil && filepath.IsLocal(rel)
}

// Shortened names files in faults from the current folder where they lie below it.
func Shortened(err error) error {
	list, ok := fault.In(err)
	here, errHere := os.Getwd()
	if !ok || errHere != nil {
		return err
	}
	for i, f := range list {
		if rel, err := filepath.Rel(here, f.File); filepath.IsAbs(f.File) && err == nil && filepath.IsLocal(rel) {
			list[i].File = filepath.ToSlash(rel)
		}
	}
	return list
}
