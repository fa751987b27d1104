package review

import (
	"crypto/subtle"
	"mime"
	"net"
	"net/http"
	"strings"

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

// guarded lets through what this computer's own page asks, and nothing else: the
// host must be ours by number (a name could be turned to us by somebody else's DNS),
// no other page may have sent it, and it must hold the token.
func (s *Server) guarded(inner http.Handler) http.Handler {
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
			s.refuse(w, http.StatusMisdirectedRequest, words.Tell("this isn't the address of the page"), words.Tell("use the address that pushcue printed"))
			return
		case !s.sentByUs(r):
			s.refuse(w, http.StatusForbidden, words.Tell("another page sent this"), words.Tell("use the page that pushcue opened"))
			return
		}
		if token := r.URL.Query().Get("token"); token != "" && r.Method == http.MethodGet && r.URL.Path == "/" {
			s.greet(w, r, token)
			return
		}
		if cookie, err := r.Cookie(s.cookieName()); err != nil || !s.isToken(cookie.Value) {
			s.refuse(w, http.StatusForbidden, words.Tell("the address lacks its token"), words.Tell("use the whole address that pushcue printed"))
			return
		}
		if r.Method == http.MethodPost && !proper(r) {
			s.refuse(w, http.StatusUnsupportedMediaType, words.Tell("this isn't how the page asks"), words.Sentence{})
			return
		}
		r.Body = http.MaxBytesReader(w, r.Body, mostBody)
		inner.ServeHTTP(w, r)
	})
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
	// A link elsewhere to the printed address: harmless with the token in it.
	return r.Method == http.MethodGet && r.URL.Path == "/" && r.Header.Get("Sec-Fetch-Mode") == "navigate"
}

// proper tells a request that no form of another page can send.
func proper(r *http.Request) bool {
	kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	return err == nil && kind == "application/json" && r.Header.Get("X-Pushcue") != ""
}

// greet trades the token for a cookie, so that it doesn't stay in the address.
func (s *Server) greet(w http.ResponseWriter, r *http.Request, token string) {
	if !s.isToken(token) {
		s.refuse(w, http.StatusForbidden, words.Tell("the token in the address isn't the one"), words.Tell("use the whole address that pushcue printed last"))
		return
	}
	http.SetCookie(w, &http.Cookie{Name: s.cookieName(), Value: s.token, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode})
	http.Redirect(w, r, "/", http.StatusSeeOther)
}

// cookieName holds the port, since a browser gives all ports of a host one cookie jar.
func (s *Server) cookieName() string {
	addr := s.listener.Addr().String()
	return "pushcue-" + addr[strings.LastIndexByte(addr, ':')+1:]
}

func (s *Server) isToken(text string) bool {
	return subtle.ConstantTimeCompare([]byte(text), []byte(s.token)) == 1
}
