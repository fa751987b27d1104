package review

import "time"

// What the tests that look at the page share with those of the server.

var FindTools = findTools

// Lasting is a folder that lasts as long as the test program.
func Lasting() string { return lasting.folder }

// AtEnd ends something when the test program has run all tests.
func AtEnd(end func()) { lasting.ends = append(lasting.ends, end) }

// Timeless has the server's invitations last as long as it runs: on a busy computer a
// browser takes minutes to start. It is called before Serve.
func (s *Server) Timeless() {
	now := time.Now()
	s.access.now = func() time.Time { return now }
}

// Await waits until something is so, and reports false when that is in vain.
func (s *Server) Await(is func() bool) bool { return s.await(is) }
