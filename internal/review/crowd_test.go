package review

import (
	"context"
	"io"
	"net"
	"net/http"
	"sync"
	"testing"
	"testing/synctest"
	"time"
)

// pipes is a listener whose connections lead through this program only, so that a
// test's own clock rules their limits of time.
type pipes struct {
	come  chan net.Conn
	over  chan struct{}
	close func()
}

func newPipes() *pipes {
	p := &pipes{come: make(chan net.Conn), over: make(chan struct{})}
	p.close = sync.OnceFunc(func() { close(p.over) })
	return p
}

func (p *pipes) Accept() (net.Conn, error) {
	select {
	case c := <-p.come:
		return c, nil
	case <-p.over:
		return nil, net.ErrClosed
	}
}

func (p *pipes) Close() error { p.close(); return nil }

func (p *pipes) Addr() net.Addr { return &net.TCPAddr{IP: net.IPv4(127, 0, 0, 1), Port: 8080} }

func (p *pipes) dial() net.Conn {
	here, there := net.Pipe()
	p.come <- there
	return here
}

// A thousand connections at once that say nothing: those that there is no room for are
// turned away at once, and the page goes on. When their time for a first word is over
// the others are sent away too, and a new page finds its place.
func TestAThousandConnections(t *testing.T) {
	settings := t.TempDir()
	synctest.Test(t, func(t *testing.T) {
		in := newPipes()
		s, err := Listen(Options{Settings: settings})
		if err != nil {
			t.Fatal(err)
		}
		_ = s.listener.Close()
		s.listener = newCrowd(in, mostConnections)
		ctx, stop := context.WithCancel(t.Context())
		ended := make(chan error, 1)
		go func() { ended <- s.Serve(ctx) }()

		key := s.access.enter(s.Invite().token).Key
		// pages asks on a connection of its own, and keeps it.
		pages := func() (ask func() (int, error), leave func()) {
			way := &http.Transport{DialContext: func(context.Context, string, string) (net.Conn, error) { return in.dial(), nil }}
			return func() (int, error) {
				r, err := http.NewRequest(http.MethodGet, s.origin()+"/api/start", nil)
				if err != nil {
					t.Fatal(err)
				}
				r.Header.Set(keyHeader, key)
				answer, err := way.RoundTrip(r)
				if err != nil {
					return 0, err
				}
				defer answer.Body.Close()
				_, err = io.Copy(io.Discard, answer.Body)
				return answer.StatusCode, err
			}, way.CloseIdleConnections
		}
		ask, leave := pages()
		defer leave()
		if status, err := ask(); status != http.StatusOK {
			t.Fatalf("%d %v", status, err)
		}
		begun := time.Now()
		gone := make(chan time.Duration, 1000)
		for range 1000 {
			c := in.dial()
			go func() {
				_, _ = c.Read(make([]byte, 1))
				gone <- time.Since(begun)
				_ = c.Close()
			}()
		}
		synctest.Wait()
		if away, want := len(gone), 1000-(mostConnections-1); away != want || time.Since(begun) > 0 {
			t.Errorf("%d were turned away after %s, want %d at once", away, time.Since(begun), want)
		}
		if status, err := ask(); status != http.StatusOK || time.Since(begun) > 0 {
			t.Errorf("the page that was there is answered %d after %s (%v)", status, time.Since(begun), err)
		}
		late, leave := pages()
		defer leave()
		if status, err := late(); err == nil {
			t.Errorf("one more finds room, and is answered %d", status)
		}
		for range 1000 {
			if after := <-gone; after > 5*time.Second {
				t.Fatalf("one that says nothing may stay for %s", after)
			}
		}
		if status, err := late(); status != http.StatusOK {
			t.Errorf("a new page is answered %d (%v)", status, err)
		}
		stop()
		if err := <-ended; err != nil {
			t.Error(err)
		}
	})
}
