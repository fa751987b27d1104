package review

import (
	"encoding/json"
	"net"
	"net/http"
	"strconv"
	"time"

	"pushcue/internal/review/runs"
	"pushcue/timeline/words"
)

// note leaves a note that this program serves a visit's page. Without one a second
// pushcue is told that the visit is open elsewhere.
func (s *Server) note(visit string) (forget func()) {
	if s.o.Running == "" {
		return func() {}
	}
	_, port, _ := net.SplitHostPort(s.listener.Addr().String())
	n, _ := strconv.Atoi(port)
	forget, err := runs.Note(s.o.Running, visit, n, s.secret)
	if err != nil {
		return func() {}
	}
	return forget
}

// serveJoin gives a second pushcue of this user an invitation, and tells it when it was
// used.
func (s *Server) serveJoin(w http.ResponseWriter, r *http.Request) {
	var asked runs.Ask
	if err := read(r, &asked); err != nil {
		s.answerStranger(w, r, err)
		return
	}
	if !s.secret.Asks(asked) {
		s.answerStranger(w, r, rejected(http.StatusForbidden, words.Tell("this tab isn't let in"), words.Sentence{}))
		return
	}
	invitation := s.Invite()
	control := http.NewResponseController(w)
	_ = control.SetReadDeadline(time.Time{})
	w.Header().Set("Content-Type", "application/json")
	lines := json.NewEncoder(w)
	if lines.Encode(s.secret.Answer(asked, invitation.token)) != nil || control.Flush() != nil {
		return
	}
	expired := time.NewTimer(invitationLasts)
	defer expired.Stop()
	used := runs.Used{}
	select {
	case <-invitation.Used():
		used.Used = true
	case <-expired.C:
	case <-r.Context().Done():
		return
	case <-s.events.closed:
	}
	_ = lines.Encode(used)
}
