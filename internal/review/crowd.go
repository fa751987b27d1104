package review

import (
	"io"
	"log"
	"net"
	"sync"
)

// mostConnections is how many are served at a time: a few pages need a few each.
const mostConnections = 128

// A crowd is a listener that turns away who comes when too many are in. Turned away
// rather than kept waiting, so that nobody hangs.
type crowd struct {
	net.Listener
	seats chan struct{}
}

func newCrowd(l net.Listener, most int) *crowd { return &crowd{l, make(chan struct{}, most)} }

// Accept waits for the next one who finds a seat.
func (c *crowd) Accept() (net.Conn, error) {
	for {
		conn, err := c.Listener.Accept()
		if err != nil {
			return nil, err
		}
		select {
		case c.seats <- struct{}{}:
			return &guest{Conn: conn, leave: sync.OnceFunc(func() { <-c.seats })}, nil
		default:
			_ = conn.Close()
		}
	}
}

type guest struct {
	net.Conn
	leave func()
}

func (g *guest) Close() error {
	defer g.leave()
	return g.Conn.Close()
}

// silent swallows what net/http would print of every connection that broke off.
func silent() *log.Logger { return log.New(io.Discard, "", 0) }
