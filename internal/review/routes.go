package review

import (
	"cmp"
	"net/http"
	"os"
	"path/filepath"

	"pushcue/internal/handover"
	"pushcue/internal/reach"
	"pushcue/timeline/words"
)

// routes are all addresses there are for a page that was let in.
func (s *Server) routes() http.Handler {
	mux := http.NewServeMux()
	s.publicRoutes(mux)
	mux.HandleFunc("GET /api/page", s.servePageName)
	mux.HandleFunc("POST /api/invite", s.serveInvite)
	mux.HandleFunc("GET /api/events", func(w http.ResponseWriter, r *http.Request) {
		defer s.vacancy.enter()()
		s.events.serve(w, r)
	})

	job := func(pattern string, f func(*sitting, http.ResponseWriter, *http.Request) error) {
		mux.HandleFunc(pattern, func(w http.ResponseWriter, r *http.Request) {
			t, err := s.sitting(r)
			if err == nil {
				err = f(t, w, r)
			}
			if err != nil {
				s.answer(w, nil, err)
			}
		})
	}
	job("GET /api/job", func(t *sitting, w http.ResponseWriter, r *http.Request) error {
		send(w, http.StatusOK, t.state())
		return nil
	})
	job("GET /api/frames", (*sitting).serveFrames)
	job("GET /api/still", (*sitting).serveStill)
	job("GET /media/part/{n}", (*sitting).servePart)
	job("GET /media/proxy/{n}", (*sitting).serveStandIn)
	job("GET /media/spoken/{name...}", (*sitting).serveSpoken)
	job("GET /media/photo/{name...}", (*sitting).servePhoto)
	job("GET /media/logo", (*sitting).serveLogo)
	mux.HandleFunc("POST /api/logo", func(w http.ResponseWriter, r *http.Request) { s.answer(w, struct{}{}, s.chooseLogo(r)) })
	job("GET /api/counter/sheet", (*sitting).serveCounterSheet)
	job("POST /api/edit", func(t *sitting, w http.ResponseWriter, r *http.Request) error {
		var o order
		if err := read(r, &o); err != nil {
			return err
		}
		id, err := t.correct(r.Context(), o)
		if err != nil {
			return err
		}
		state := t.state()
		if o.What == "add" {
			state.Added = id
		}
		send(w, http.StatusOK, state)
		return nil
	})
	job("POST /api/undo", func(t *sitting, w http.ResponseWriter, r *http.Request) error {
		var asked struct {
			Edit string `json:"edit"`
		}
		if err := read(r, &asked); err != nil {
			return err
		}
		if err := t.undo(r.Context(), asked.Edit); err != nil {
			return err
		}
		send(w, http.StatusOK, t.state())
		return nil
	})
	job("POST /api/redo", func(t *sitting, w http.ResponseWriter, r *http.Request) error {
		if err := t.redo(r.Context()); err != nil {
			return err
		}
		send(w, http.StatusOK, t.state())
		return nil
	})
	job("POST /api/proxy", func(t *sitting, w http.ResponseWriter, r *http.Request) error {
		if err := t.serveWant(r); err != nil {
			return err
		}
		send(w, http.StatusOK, struct{}{})
		return nil
	})
	s.taskRoutes(mux)
	s.startRoutes(mux)
	return mux
}

// taskRoutes are those for what is made and copied.
func (s *Server) taskRoutes(mux *http.ServeMux) {
	begin := func(f func(*http.Request) (*task, error)) http.HandlerFunc {
		return func(w http.ResponseWriter, r *http.Request) {
			t, err := f(r)
			if err != nil {
				s.answer(w, nil, err)
				return
			}
			send(w, http.StatusAccepted, t)
		}
	}
	mux.HandleFunc("POST /api/make", begin(s.make))
	mux.HandleFunc("POST /api/copy", begin(s.copy))
	mux.HandleFunc("POST /api/stop", func(w http.ResponseWriter, r *http.Request) {
		if o := s.now(); o != nil {
			o.task.stop()
		}
		send(w, http.StatusOK, struct{}{})
	})
	mux.HandleFunc("GET /api/drives", s.serveDrives)
	mux.HandleFunc("GET /api/finish", s.serveFinish)
	mux.HandleFunc("POST /api/finish", s.serveStep)
	mux.HandleFunc("POST /api/show", s.serveShow)
	mux.HandleFunc("GET /handover/{name...}", s.serveHandover)
}

func (t *sitting) serveCounterSheet(w http.ResponseWriter, r *http.Request) error {
	p := t.now.Load().placed
	if p == nil || p.CounterSheet == "" {
		return rejected(http.StatusNotFound, words.Tell("there is no sheet of the counter"), words.Sentence{})
	}
	return serveOurs(w, r, p.CounterSheet, mediaType(p.CounterSheet))
}

// serveHandover shows what was made. Nothing outside the handover is reached, by
// whatever name or link, and nothing in it runs.
func (s *Server) serveHandover(w http.ResponseWriter, r *http.Request) {
	o := s.now()
	name := r.PathValue("name")
	if o == nil || !filepath.IsLocal(filepath.FromSlash(name)) {
		s.refuse(w, http.StatusNotFound, words.Tell("there is no such file in the handover"), words.Sentence{})
		return
	}
	if _, err := os.Stat(o.visit.Out); err != nil {
		s.refuse(w, http.StatusNotFound, words.Tell("nothing was made yet"), words.Tell("make the handover first"))
		return
	}
	f, err := reach.Beneath(o.visit.Out, name, reach.AnySize)
	if err != nil {
		s.refuse(w, http.StatusNotFound, words.Tell("there is no such file in the handover"), words.Sentence{})
		return
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		s.refuse(w, http.StatusNotFound, words.Tell("there is no such file in the handover"), words.Sentence{})
		return
	}
	w.Header().Set("Content-Security-Policy", handoverPolicy)
	http.ServeContent(w, r, info.Name(), info.ModTime(), f)
}

// serveShow opens something of the job with the system's own program.
func (s *Server) serveShow(w http.ResponseWriter, r *http.Request) {
	var asked struct {
		What string `json:"what"`
		For  string `json:"for"`
	}
	if err := read(r, &asked); err != nil {
		s.answer(w, nil, err)
		return
	}
	o, ask, err := s.askFor(asked.For)
	if err != nil || s.o.Show == nil {
		s.answer(w, nil, cmp.Or(err, rejected(http.StatusNotFound, words.Tell("no job is open"), words.Sentence{})))
		return
	}
	out := o.visit.Out
	if finished, err := handover.Finish(r.Context(), ask); err == nil {
		out = finished.Dir
	}
	path := map[string]string{"handover": out, "page": filepath.Join(out, "index.html"), "report": filepath.Join(out, "report.pdf"), "folder": o.visit.Dir}[asked.What]
	_, err = os.Stat(path)
	if asked.What == "page" || asked.What == "report" {
		var f *os.File
		if f, err = reach.Beneath(out, filepath.Base(path), reach.AnySize); err == nil {
			f.Close()
		}
	}
	if path == "" || err != nil {
		s.refuse(w, http.StatusNotFound, words.Tell("it isn't there yet"), words.Tell("make the handover first"))
		return
	}
	if err := s.o.Show(r.Context(), path); err != nil {
		s.refuse(w, http.StatusBadGateway, words.Tell("this computer opens nothing by itself: %s", err), words.Tell("open it yourself: %s", path))
		return
	}
	send(w, http.StatusOK, struct{}{})
}
