package review

import (
	"net/http"

	"pushcue/internal/handover"
	"pushcue/internal/review/page"
)

// opened is the visit that is looked over.
type opened struct{ visit *handover.Visit }

func (s *Server) open(v *handover.Visit, a handover.Ask) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.opened = &opened{visit: v}
	return nil
}

func (o *opened) close() {}

func (s *Server) routes() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", func(w http.ResponseWriter, r *http.Request) {
		name := "start.html"
		s.mu.Lock()
		if s.opened != nil {
			name = "review.html"
		}
		s.mu.Unlock()
		http.ServeFileFS(w, r, page.FS, name)
	})
	mux.HandleFunc("GET /api/events", s.events.serve)
	mux.Handle("GET /page/", http.StripPrefix("/page/", http.FileServerFS(page.FS)))
	return mux
}
