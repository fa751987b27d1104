package review

import (
	"encoding/json"
	"fmt"
	"net/http"
	"sync"
	"time"
)

// events tells every open page what happens, as it happens. A page that doesn't
// listen is left behind rather than waited for: it asks for the whole state anyway.
type events struct {
	mu     sync.Mutex
	pages  map[chan []byte]bool
	closed chan struct{}
	close  func()
}

func newEvents() *events {
	e := &events{pages: map[chan []byte]bool{}, closed: make(chan struct{})}
	e.close = sync.OnceFunc(func() { close(e.closed) })
	return e
}

// tell sends an event to every page.
func (e *events) tell(name string, value any) {
	text, err := json.Marshal(value)
	if err != nil {
		return
	}
	message := fmt.Appendf(nil, "event: %s\ndata: %s\n\n", name, text)
	e.mu.Lock()
	defer e.mu.Unlock()
	for page := range e.pages {
		select {
		case page <- message:
		default: // it has far too much to read already
		}
	}
}

// serve keeps telling one page, until it goes or the program ends.
func (e *events) serve(w http.ResponseWriter, r *http.Request) {
	page := make(chan []byte, 64)
	e.mu.Lock()
	e.pages[page] = true
	e.mu.Unlock()
	defer func() {
		e.mu.Lock()
		delete(e.pages, page)
		e.mu.Unlock()
	}()
	control := http.NewResponseController(w)
	_ = control.SetReadDeadline(time.Time{}) // it stays open as long as the page does
	w.Header().Set("Content-Type", "text/event-stream")
	pulse := time.NewTicker(20 * time.Second) // so that a page that is gone is noticed
	defer pulse.Stop()
	message := []byte(": hello\n\n")
	for {
		_ = control.SetWriteDeadline(time.Now().Add(10 * time.Second))
		if _, err := w.Write(message); err != nil || control.Flush() != nil {
			return
		}
		select {
		case message = <-page:
		case <-pulse.C:
			message = []byte(": still here\n\n")
		case <-r.Context().Done():
			return
		case <-e.closed:
			_, _ = w.Write([]byte("event: bye\ndata: {}\n\n"))
			return
		}
	}
}
