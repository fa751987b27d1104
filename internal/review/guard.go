package review

import (
	"mime"
	"net"
	"net/http"

	"pushcue/internal/review/page"
	"pushcue/internal/review/runs"
	"pushcue/timeline/words"
)

// mostBody is the largest body taken: corrections are short.
const mostBody = 1 << 20

// Nothing is loaded from anywhere else, and no text becomes a script.
const (
	policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; media-src 'self' blob:; " +
		"connect-src 'self'; font-src 'self'; form-action 'none'; frame-ancestors 'none'; base-uri 'none'"
	// The handover is made for any browser, with its style inside; its scripts stay
	// out here, since they would stand beside our own page.
	handoverPolicy = "default-src 'self'; script-src 'none'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; " +
		"connect-src 'none'; form-action 'none'; frame-ancestors 'none'; base-uri 'none'"
)

// guarded lets through what pages of this computer ask that were let in, and nothing
// else: the host must be ours by number (a name could be turned to us by somebody else's
// DNS), no other page may have sent it, and it must hold the key of a session. Without
// one there are the program's own files, which say nothing of a job, and two ways in.
func (s *Server) guarded(inner http.Handler) http.Handler {
	open := s.openRoutes()
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("X-Frame-Options", "DENY")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		switch {
		case !s.isOurs(r.Host):
			s.answerStranger(w, r, rejected(http.StatusMisdirectedRequest, words.Tell("this isn't the address of the page"), words.Tell("use the address that pushcue printed")))
			return
		case !s.sentByUs(r):
			s.answerStranger(w, r, rejected(http.StatusForbidden, words.Tell("another page sent this"), words.Tell("use the page that pushcue opened")))
			return
		}
		admitted, to := s.access.admitted(r), inner
		if admitted == nil {
			admitted, to = r, open
		}
		if r.Method == http.MethodPost && !proper(r) {
			s.answerStranger(w, r, rejected(http.StatusUnsupportedMediaType, words.Tell("this isn't how the page asks"), words.Sentence{}))
			return
		}
		r.Body = http.MaxBytesReader(w, r.Body, mostBody)
		admitted.Body = r.Body
		to.ServeHTTP(w, admitted)
	})
}

// openRoutes are all addresses for those who aren't let in yet.
func (s *Server) openRoutes() http.Handler {
	mux := http.NewServeMux()
	s.publicRoutes(mux)
	mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
		s.answerStranger(w, r, rejected(http.StatusForbidden, words.Tell("this tab isn't let in"), words.Tell("run pushcue review again: it opens the page that runs already")))
	})
	return mux
}

// publicRoutes are the program's own files and the ways in.
func (s *Server) publicRoutes(mux *http.ServeMux) {
	mux.HandleFunc("GET /{$}", func(w http.ResponseWriter, r *http.Request) { http.ServeFileFS(w, r, page.FS, "pushcue.html") })
	mux.Handle("GET /page/", http.StripPrefix("/page/", http.FileServerFS(page.FS)))
	mux.HandleFunc("POST /api/enter", s.serveEnter)
	mux.HandleFunc("POST "+runs.Path, s.serveJoin)
}

func (s *Server) isOurs(host string) bool {
	ours := s.listener.Addr().String()
	_, port, _ := net.SplitHostPort(ours)
	return host == ours || host == net.JoinHostPort("localhost", port)
}

// sentByUs tells by what a browser says of who asks; a page can't forge either.
func (s *Server) sentByUs(r *http.Request) bool {
	if origin := r.Header.Get("Origin"); origin != "" && origin != "http://"+r.Host {
		return false
	}
	switch r.Header.Get("Sec-Fetch-Site") {
	case "", "same-origin", "none":
		return true
	}
	// A link elsewhere to the page, as the private file is that the browser is opened on:
	// the page that it shows holds nothing before it is let in.
	return r.Method == http.MethodGet && r.URL.Path == "/" && r.Header.Get("Sec-Fetch-Mode") == "navigate"
}

// proper tells a request that no form of another page can send.
func proper(r *http.Request) bool {
	kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	return err == nil && kind == "application/json" && r.Header.Get("X-Pushcue") != ""
}
