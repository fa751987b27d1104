package job

import (
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"pushcue/internal/manifest"
	"pushcue/internal/trouble"
	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// Folders of a job that hold what was spoken and photographed on site, and the endings
// that are looked for in them.
const (
	SpokenFolder = "spoken"
	PhotosFolder = "photos"
)

var (
	soundEndings = []string{
		".wav", ".m4a", ".mp3", ".ogg", ".oga", ".opus", ".flac", ".aac", ".amr", ".3gp", ".3ga", ".3g2", ".wma",
		".aif", ".aiff", ".caf", ".m4b", ".mp4", ".mka", ".webm", ".au", ".w64",
	}
	photoEndings = []string{".jpg", ".jpeg", ".jpe", ".png", ".heic", ".heif", ".hif", ".avif", ".webp"}
)

// findAttached finds the notes and photos of a job: all in their folders, and those
// beside the log, which count where the log names them.
func (j *Job) findAttached(a Ask) error {
	if a.Path == "" {
		return nil // only what the command line names is meant
	}
	var err error
	if j.Spoken, err = j.attachedIn(SpokenFolder, soundEndings); err != nil {
		return err
	}
	j.Photos, err = j.attachedIn(PhotosFolder, photoEndings)
	return err
}

func (j *Job) attachedIn(folder string, endings []string) ([]Source, error) {
	entries, err := os.ReadDir(j.Dir)
	if err != nil {
		return nil, fault.Of(fault.Fault{File: j.Dir, Text: words.Tell("the folder can't be read: %s", trouble.PlainCause(err)), Hint: words.Tell("check that you may read it")})
	}
	var found, others []Source
	for _, e := range sortedNaturally(entries) {
		switch name := e.Name(); {
		case e.Type()&(fs.ModeSymlink|fs.ModeIrregular) != 0 && strings.EqualFold(name, folder):
			j.Linked = append(j.Linked, name)
		case e.IsDir() && strings.EqualFold(name, folder):
			err := filepath.WalkDir(filepath.Join(j.Dir, name), func(path string, d fs.DirEntry, err error) error {
				if err != nil || d.IsDir() || strings.HasPrefix(d.Name(), ".") || manifest.IsLitter(d.Name()) {
					return err
				}
				rel, err := filepath.Rel(j.Dir, path)
				if s := j.source(rel); HasEnding(path, endings) {
					found = append(found, s)
				} else {
					j.Strange = append(j.Strange, s.Name)
				}
				return err
			})
			if err != nil {
				return nil, fault.Of(fault.Fault{File: filepath.Join(j.Dir, name), Text: words.Tell("the folder can't be read: %s", trouble.PlainCause(err)), Hint: words.Tell("check that you may read it")})
			}
		case !e.IsDir() && HasEnding(name, endings) && !HasEnding(name, VideoEndings) && !strings.HasPrefix(name, "."):
			others = append(others, j.source(name))
		}
	}
	slices.SortStableFunc(found, func(a, b Source) int { return NaturalCompare(a.Name, b.Name) })
	return append(found, others...), nil
}

// Beside are the folders that hold spoken notes and photos, or would.
func (j *Job) Beside() []string {
	dirs := []string{filepath.Join(j.Dir, SpokenFolder), filepath.Join(j.Dir, PhotosFolder)}
	for _, s := range slices.Concat(j.Spoken, j.Photos) {
		if dir := filepath.Dir(s.Path); dir != j.Dir && !slices.Contains(dirs, dir) {
			dirs = append(dirs, dir)
		}
	}
	return dirs
}

// InFolder reports whether a note or photo lies in the folder for such: others count
// only where the log names them.
func InFolder(s Source) bool { return strings.Contains(s.Name, "/") }

// Attachable opens a spoken note or photo to see that it can be; its error is a fault.
func (j *Job) Attachable(s Source) error {
	err := j.readable(s)
	if err == nil {
		return nil
	}
	return fault.Of(fault.Fault{File: s.Name, Text: trouble.PlainCause(err), Hint: HintOf(err, words.Tell("check that you may read it"))})
}

// BesideStamps tell whether the notes and photos are still the same, read in the same zone.
func (j *Job) BesideStamps() []Stamp {
	all := []Stamp{{path: j.Sheet.Zone().String()}}
	for _, s := range slices.Concat(j.Spoken, j.Photos) {
		all = append(all, StampOf(s.Path))
	}
	return all
}
