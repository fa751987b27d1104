package review

// What the tests that look at the page share with those of the server.

var FindTools = findTools

// Lasting is a folder that lasts as long as the test program.
func Lasting() string { return lasting.folder }

// AtEnd ends something when the test program has run all tests.
func AtEnd(end func()) { lasting.ends = append(lasting.ends, end) }

// Await waits until something is so, and reports false when that is in vain.
func (s *Server) Await(is func() bool) bool { return s.await(is) }
