package review

import (
	"crypto/rand"
	"crypto/sha256"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"

	"pushcue/timeline/words"
)

const (
	// keyHeader carries the key of a page's session. A browser adds no header of its own
	// accord, as it does with a cookie, which every other server on 127.0.0.1 would get.
	keyHeader = "X-Pushcue-Key"

	invitationLasts = 2 * time.Minute
	mostSessions    = 64
	mostInvitations = 256

	mediaPrefix    = "/s/" // what pictures and players fetch: they can send no header
	handoverPrefix = "/h/" // the handover has a secret of its own, since its pages were made elsewhere
)

// digest is what is kept of a secret, so that comparing takes the same time whatever is
// compared.
type digest [sha256.Size]byte

// access knows who may ask the server: the pages that came with an invitation.
type access struct {
	now func() time.Time

	mu       sync.Mutex
	invited  map[digest]*Invitation
	sessions []*session // the one used last stands last
	ended    bool
}

// session is what a page gets for its invitation. It ends with the server, or when many
// newer ones were used since.
type session struct {
	Key      string `json:"key"`
	Media    string `json:"media"`    // put before the path of a picture or film
	Handover string `json:"handover"` // put before the path of a file of the handover

	key, media, handover digest
}

// An Invitation lets one page in, within two minutes of being made.
type Invitation struct {
	Address string // opens the page; the part that browsers send nowhere holds the token

	token   string
	expires time.Time
	used    chan struct{}
}

// Used is closed once a page has come in by it.
func (i *Invitation) Used() <-chan struct{} { return i.used }

func newAccess() *access {
	return &access{now: time.Now, invited: map[digest]*Invitation{}}
}

func digestOf(secret string) digest { return sha256.Sum256([]byte(secret)) }

// invite makes an invitation to the page at origin.
func (a *access) invite(origin string) *Invitation {
	a.mu.Lock()
	defer a.mu.Unlock()
	now := a.now()
	for d, i := range a.invited {
		if !now.Before(i.expires) || len(a.invited) >= mostInvitations {
			delete(a.invited, d)
		}
	}
	token := rand.Text()
	i := &Invitation{Address: origin + "/#enter=" + token, token: token, expires: now.Add(invitationLasts), used: make(chan struct{})}
	if !a.ended {
		a.invited[digestOf(token)] = i
	}
	return i
}

// enter exchanges an invitation's token for a session; nil when it was used before, is
// too old or never was one.
func (a *access) enter(token string) *session {
	a.mu.Lock()
	defer a.mu.Unlock()
	i := a.invited[digestOf(token)]
	delete(a.invited, digestOf(token))
	if i == nil || !a.now().Before(i.expires) {
		return nil
	}
	close(i.used)
	media, handover := rand.Text(), rand.Text()
	s := &session{Key: rand.Text(), Media: mediaPrefix + media, Handover: handoverPrefix + handover, media: digestOf(media), handover: digestOf(handover)}
	s.key = digestOf(s.Key)
	a.sessions = append(a.sessions, s)
	a.sessions = a.sessions[max(0, len(a.sessions)-mostSessions):]
	return s
}

// holds reports whether a secret is that of a session, and keeps this session longest.
func (a *access) holds(secret string, of func(*session) digest) bool {
	d := digestOf(secret)
	a.mu.Lock()
	defer a.mu.Unlock()
	n := slices.IndexFunc(a.sessions, func(s *session) bool { return of(s) == d })
	if n < 0 {
		return false
	}
	s := a.sessions[n]
	a.sessions = append(slices.Delete(a.sessions, n, n+1), s)
	return true
}

// end ends all sessions and invitations.
func (a *access) end() {
	a.mu.Lock()
	defer a.mu.Unlock()
	clear(a.invited)
	a.sessions, a.ended = nil, true
}

// admitted returns the request without the secret that it came with; nil when it came
// with none.
func (a *access) admitted(r *http.Request) *http.Request {
	if r.Method == http.MethodGet || r.Method == http.MethodHead {
		if path, ok := a.below(r.URL.Path, mediaPrefix, func(s *session) digest { return s.media }); ok {
			if strings.HasPrefix(path, "/media/") || path == "/api/still" || path == "/api/counter/sheet" {
				return withPath(r, path)
			}
		}
		if path, ok := a.below(r.URL.Path, handoverPrefix, func(s *session) digest { return s.handover }); ok {
			if strings.HasPrefix(path, "/handover/") {
				return withPath(r, path)
			}
		}
	}
	if a.holds(r.Header.Get(keyHeader), func(s *session) digest { return s.key }) {
		return r
	}
	return nil
}

// below returns what follows a session's secret in a path.
func (a *access) below(path, prefix string, of func(*session) digest) (string, bool) {
	rest, found := strings.CutPrefix(path, prefix)
	secret, rest, cut := strings.Cut(rest, "/")
	if !found || !cut || !a.holds(secret, of) {
		return "", false
	}
	return "/" + rest, true
}

func withPath(r *http.Request, path string) *http.Request {
	inner := new(http.Request)
	*inner = *r
	address := *r.URL
	address.Path, address.RawPath = path, ""
	inner.URL = &address
	return inner
}

// Invite lets one more page in.
func (s *Server) Invite() *Invitation { return s.access.invite(s.origin()) }

// serveEnter exchanges a token for a session.
func (s *Server) serveEnter(w http.ResponseWriter, r *http.Request) {
	var asked struct {
		Token string `json:"token"`
	}
	if err := read(r, &asked); err != nil {
		s.answerStranger(w, r, err)
		return
	}
	session := s.access.enter(asked.Token)
	if session == nil {
		s.answerStranger(w, r, rejected(http.StatusForbidden, words.Tell("the address was used before, or is older than two minutes"), words.Tell("run pushcue review again: it opens the page that runs already")))
		return
	}
	send(w, http.StatusOK, session)
}

// serveInvite gives a page a token for another one.
func (s *Server) serveInvite(w http.ResponseWriter, _ *http.Request) {
	send(w, http.StatusOK, map[string]string{"token": s.Invite().token})
}

// servePageName tells a page which of the two it is to be.
func (s *Server) servePageName(w http.ResponseWriter, _ *http.Request) {
	name := "start"
	if s.now() != nil {
		name = "review"
	}
	send(w, http.StatusOK, map[string]string{"page": name})
}

// answerStranger tells what went wrong to somebody who isn't let in, in a language that
// says nothing of the job: the one that the browser asks for.
func (s *Server) answerStranger(w http.ResponseWriter, r *http.Request, err error) {
	status, c := understand(err, asksFor(r))
	send(w, status, map[string]any{"error": c})
}

// asksFor is the first language that the browser asks for and that we speak.
func asksFor(r *http.Request) *words.Language {
	for one := range strings.SplitSeq(r.Header.Get("Accept-Language"), ",") {
		tag, _, _ := strings.Cut(strings.TrimSpace(one), ";")
		tag, _, _ = strings.Cut(tag, "-")
		if l, err := words.For(strings.ToLower(tag)); err == nil && tag != "" {
			return l
		}
	}
	return words.English()
}
