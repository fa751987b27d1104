package review

import (
	"context"
	"net/http"
	"os"
	"path/filepath"
	"sync"
	"time"

	"pushcue/internal/handover"
	"pushcue/internal/handover/drive"
	"pushcue/timeline/words"
)

// driveShown is a drive that a handover can be copied to.
type driveShown struct {
	Path      string `json:"path"`
	Name      string `json:"name"`
	Free      int64  `json:"free_bytes"` // -1 where it doesn't tell
	Removable bool   `json:"removable"`
	Fits      bool   `json:"fits"`
	Why       string `json:"why"`
}

func (s *Server) serveDrives(w http.ResponseWriter, r *http.Request) {
	all := []driveShown{}
	needed := int64(0)
	if o := s.now(); o != nil {
		ask := o.ask
		ask.For = r.URL.Query().Get("for")
		if f, err := handover.Finish(r.Context(), ask); err == nil {
			for _, e := range f.List {
				if info, err := os.Stat(filepath.Join(f.Dir, filepath.FromSlash(e.Name))); err == nil {
					needed += info.Size()
				}
			}
		}
	}
	ctx, stop := context.WithTimeout(r.Context(), driveAnswers)
	defer stop()
	for _, d := range s.drives.room(ctx, mounted(), drive.Free) {
		one := driveShown{Path: d.path, Name: d.path, Free: d.free, Removable: true, Fits: d.answered && (d.free < 0 || d.free >= needed)}
		switch {
		case !d.answered:
			one.Why = s.speaks().Put(words.Tell("it doesn't answer"))
		case !one.Fits:
			one.Why = s.speaks().Put(words.Tell("there isn't room enough on it"))
		}
		all = append(all, one)
	}
	send(w, http.StatusOK, map[string]any{"drives": all})
}

// driveAnswers is how long a drive has for telling its room. A disk that has to wake
// up takes a few seconds.
const driveAnswers = 3 * time.Second

// drives asks drives for their room. A dead one never answers, and the thread that
// asks it is lost with it: while it owes an answer it isn't asked again.
type drives struct {
	mu   sync.Mutex
	owed map[string]bool
}

type roomOn struct {
	path     string
	free     int64 // -1 where it doesn't tell, or doesn't answer
	answered bool
	failed   bool // there is nothing in it: an empty card reader
}

// room asks all the drives at once, and gives them in their order. One that hasn't
// answered when ctx ends is said not to.
func (a *drives) room(ctx context.Context, paths []string, free func(string) (int64, error)) []roomOn {
	answers := make([]chan roomOn, len(paths))
	for i, path := range paths {
		answers[i] = a.ask(path, free)
	}
	var all []roomOn
	for i, path := range paths {
		if told := wait(ctx, answers[i], path); !told.failed {
			all = append(all, told)
		}
	}
	return all
}

func (a *drives) ask(path string, free func(string) (int64, error)) chan roomOn {
	answer := make(chan roomOn, 1)
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.owed[path] {
		answer <- unanswered(path)
		return answer
	}
	if a.owed == nil {
		a.owed = map[string]bool{}
	}
	a.owed[path] = true
	go func() {
		bytes, err := free(path)
		a.mu.Lock()
		delete(a.owed, path)
		a.mu.Unlock()
		answer <- roomOn{path: path, free: bytes, answered: true, failed: err != nil}
	}()
	return answer
}

func wait(ctx context.Context, answer chan roomOn, path string) roomOn {
	select {
	case told := <-answer:
		return told
	case <-ctx.Done():
	}
	select {
	case told := <-answer: // both were ready
		return told
	default:
		return unanswered(path)
	}
}

func unanswered(path string) roomOn { return roomOn{path: path, free: -1} }
