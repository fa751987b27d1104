package review

import (
	"encoding/json"
	"errors"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"pushcue/internal/job"
	"pushcue/internal/reach"
	"pushcue/internal/safefile"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/words"
)

const (
	recentName = "recent.json"
	mostRecent = 12
	mostListed = 2000 // folders shown of one
)

func (s *Server) startRoutes(mux *http.ServeMux) {
	mux.HandleFunc("GET /api/start", func(w http.ResponseWriter, r *http.Request) { send(w, http.StatusOK, s.startState()) })
	mux.HandleFunc("GET /api/folders", func(w http.ResponseWriter, r *http.Request) {
		f, err := s.ground.foldersIn(r.URL.Query().Get("path"))
		s.answer(w, f, err)
	})
	mux.HandleFunc("POST /api/new", func(w http.ResponseWriter, r *http.Request) {
		folder, err := s.ground.newJob(r)
		s.answer(w, map[string]string{"folder": folder}, err)
	})
	mux.HandleFunc("POST /api/choose", func(w http.ResponseWriter, r *http.Request) { s.answer(w, struct{}{}, s.choose(r)) })
	mux.HandleFunc("POST /api/close", func(w http.ResponseWriter, r *http.Request) {
		s.shut()
		send(w, http.StatusOK, struct{}{})
	})
}

type startShown struct {
	Recent   []recent   `json:"recent"`
	Places   []place    `json:"places"`
	Language string     `json:"language"`
	Words    wordsShown `json:"words"`
}

type recent struct {
	Name   string `json:"name"`
	Folder string `json:"folder"`
	There  bool   `json:"there"`
}

type place struct {
	Name string `json:"name"`
	Path string `json:"path"`
}

func (s *Server) startState() startShown {
	language := s.language()
	shown := startShown{Recent: []recent{}, Places: s.ground.places(), Language: language, Words: wordsIn(language)}
	for _, folder := range s.recentJobs() {
		info, err := os.Stat(folder)
		shown.Recent = append(shown.Recent, recent{filepath.Base(folder), folder, err == nil && info.IsDir()})
	}
	return shown
}

// language is the firm's, from its sheet in the user's settings; English without one.
func (s *Server) language() string {
	if s.o.Settings == "" {
		return "en"
	}
	text, err := reach.Read(filepath.Join(s.o.Settings, jobsheet.FirmFile), jobsheet.MaxBytes)
	if err != nil {
		return "en"
	}
	sheet, err := jobsheet.Read(jobsheet.Sources{Firm: &jobsheet.Source{File: jobsheet.FirmFile, Data: text}})
	if err != nil {
		return "en"
	}
	return sheet.Job.Language
}

// speaks is the language of the page that is shown: the job's, or the firm's where
// none is open.
func (s *Server) speaks() *words.Language {
	if o := s.now(); o != nil {
		return o.speaks()
	}
	return speaking(s.language())
}

// speaks is the language of the visit's first job.
func (o *opened) speaks() *words.Language { return o.sittings[0].now.Load().speaks() }

// speaks is the job's language.
func (v *view) speaks() *words.Language { return speaking(v.job.Sheet.Job.Language) }

func speaking(tag string) *words.Language {
	if l, err := words.For(tag); err == nil {
		return l
	}
	return words.English()
}

func (s *Server) recentJobs() []string {
	if s.o.Settings == "" {
		return nil
	}
	var folders []string
	text, err := reach.Read(filepath.Join(s.o.Settings, recentName), 1<<20)
	if err != nil || json.Unmarshal(text, &folders) != nil {
		return nil
	}
	return folders[:min(len(folders), mostRecent)]
}

// remember puts a folder in front of the jobs opened lately. Nothing depends on it.
func (s *Server) remember(folder string) {
	if s.o.Settings == "" {
		return
	}
	all := append([]string{folder}, slices.DeleteFunc(s.recentJobs(), func(other string) bool { return other == folder })...)
	text, err := json.Marshal(all[:min(len(all), mostRecent)])
	if err != nil {
		return
	}
	// Other users needn't know which jobs there are.
	if dir, err := safefile.MakePrivate(s.o.Settings); err == nil {
		_ = dir.WritePrivate(recentName, text)
		dir.Close()
	}
}

// places are where a person looks first: the home folder and the drives.
func (g ground) places() []place {
	all := []place{}
	add := func(path string) {
		if info, err := os.Stat(path); err == nil && info.IsDir() {
			all = append(all, place{filepath.Base(path), path})
		}
	}
	if home, err := os.UserHomeDir(); err == nil {
		for _, name := range []string{"", "Desktop", "Documents", "Videos", "Movies", "Downloads"} {
			add(filepath.Join(home, name))
		}
	}
	for _, path := range g.drives() {
		all = append(all, place{path, path})
	}
	return all
}

type folders struct {
	Path    string   `json:"path"`
	Parent  *string  `json:"parent"`
	Folders []folder `json:"folders"`
	Job     bool     `json:"job"`
	Videos  []string `json:"videos"`
	Logs    []string `json:"logs"`
}

type folder struct {
	Name string `json:"name"`
	Path string `json:"path"`
	Job  bool   `json:"job"`
}

// foldersIn lists a folder's folders, and what a job would be made of. Hidden ones
// are passed over, and so are those that a link puts elsewhere. It names files and never
// shows what is in them.
func (g ground) foldersIn(path string) (*folders, error) {
	if path == "" {
		home, err := os.UserHomeDir()
		if err != nil {
			return nil, rejected(http.StatusNotFound, words.Tell("there is no home folder"), words.Tell("choose a drive"))
		}
		path = home
	}
	path, err := g.find(path)
	if err != nil {
		return nil, err
	}
	entries, err := os.ReadDir(path)
	if err != nil {
		return nil, rejected(http.StatusNotFound, words.Tell("%s can't be looked into", path), words.Tell("choose another folder"))
	}
	f := &folders{Path: path, Folders: []folder{}, Videos: []string{}, Logs: []string{}}
	if above := filepath.Dir(path); g.has(above) {
		f.Parent = &above
	}
	f.Videos, f.Logs, f.Job = job.LooksLike(path)
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), ".") || len(f.Folders) >= mostListed {
			continue
		}
		at := filepath.Join(path, e.Name())
		if e.Type()&(fs.ModeSymlink|fs.ModeIrregular) != 0 && !g.has(at) {
			continue
		}
		if info, err := os.Stat(at); err != nil || !info.IsDir() {
			continue
		}
		_, _, isJob := job.LooksLike(at)
		f.Folders = append(f.Folders, folder{e.Name(), at, isJob})
	}
	return f, nil
}

// newJob makes a job folder with a sheet. Nothing that exists is overwritten.
func (g ground) newJob(r *http.Request) (string, error) {
	var asked struct {
		Parent string            `json:"parent"`
		Name   string            `json:"name"`
		Values map[string]string `json:"values"`
	}
	if err := read(r, &asked); err != nil {
		return "", err
	}
	name := strings.TrimSpace(asked.Name)
	if name == "" || !filepath.IsLocal(name) || strings.ContainsAny(name, `/\:*?"<>|`) || strings.HasPrefix(name, ".") {
		return "", rejected(http.StatusUnprocessableEntity, words.Tell("a folder can't be called that"), words.Tell("letters, digits, blanks and hyphens will do"))
	}
	parent, err := g.find(asked.Parent)
	if err != nil {
		return "", err
	}
	dir := filepath.Join(parent, name)
	if _, err := os.Lstat(dir); err == nil { // a link may stand there
		if dir, err = g.find(dir); err != nil {
			return "", err
		}
	}
	sheet := jobsheet.Template(jobsheet.Start{Zone: time.Local.String(), Values: asked.Values})
	if _, err := jobsheet.Read(jobsheet.Sources{Job: &jobsheet.Source{File: jobsheet.JobFile, Dir: dir, Data: sheet}}); err != nil {
		return "", err
	}
	folder, err := safefile.Make(dir)
	if err != nil {
		return "", rejected(http.StatusUnprocessableEntity, words.Tell("the folder can't be made there"), words.Tell("choose a place that you may write to"))
	}
	defer folder.Close()
	err = folder.CreateNew(jobsheet.JobFile, sheet)
	if errors.Is(err, fs.ErrExist) {
		return "", rejected(http.StatusConflict, words.Tell("there is such a job already"), words.Tell("open it, or choose another name"))
	}
	if err != nil {
		return "", rejected(http.StatusUnprocessableEntity, words.Tell("the job sheet can't be written there"), words.Tell("choose a place that you may write to"))
	}
	return dir, nil
}

// choose looks over a job folder from now on.
func (s *Server) choose(r *http.Request) error {
	var asked struct {
		Folder string `json:"folder"`
	}
	if err := read(r, &asked); err != nil {
		return err
	}
	// What was opened lately may lie elsewhere: it was named on the command line then.
	if !slices.Contains(s.recentJobs(), asked.Folder) {
		folder, err := s.ground.find(asked.Folder)
		if err != nil {
			return err
		}
		asked.Folder = folder
	}
	ask := job.Ask{Path: asked.Folder, Settings: s.o.Settings, Key: s.o.Key, ToAsk: true}
	visit, err := job.Open(r.Context(), ask)
	if err != nil {
		return err
	}
	return s.open(r.Context(), visit, ask)
}
