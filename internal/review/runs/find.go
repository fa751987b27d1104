package runs

import (
	"bytes"
	"context"
	"crypto/hmac"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net"
	"net/http"
	"strconv"
	"time"

	"pushcue/internal/safefile"
)

// A Page is served by another pushcue, which lets one page in.
type Page struct {
	Address string // opens it once
	answer  io.ReadCloser
	lines   *json.Decoder
}

// errStranger says that something else answers at the port of a note.
var errStranger = errors.New("another program answers at its port")

// Find asks the pushcue that serves a job's page, by the notes in dir, to let one page
// in. It returns nil where none serves it. The caller closes the page.
func Find(ctx context.Context, dir, job string) (*Page, error) {
	job, err := folderOf(job)
	if err != nil {
		return nil, err
	}
	folder, err := safefile.Open(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	defer folder.Close()
	n, err := read(folder, job)
	if err != nil {
		return nil, nil // nobody has left a note that could be trusted
	}
	page, err := n.ask(ctx)
	if errors.Is(err, errStranger) || isNobody(err) {
		return nil, nil // it was killed; its lock tells
	}
	return page, err
}

// isNobody reports that nothing listens at a port.
func isNobody(err error) bool {
	var failed *net.OpError
	return errors.As(err, &failed) && failed.Op == "dial"
}

// client asks this computer only, whatever proxy is set.
var client = &http.Client{
	Transport:     &http.Transport{DisableKeepAlives: true, ResponseHeaderTimeout: time.Minute},
	CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
}

func (n *note) ask(ctx context.Context) (*Page, error) {
	ask := Ask{Nonce: rand.Text()}
	ask.Proof = n.Secret.prove("ask", ask.Nonce)
	body, err := json.Marshal(ask)
	if err != nil {
		return nil, err
	}
	origin := "http://" + net.JoinHostPort("127.0.0.1", strconv.Itoa(n.Port))
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, origin+Path, bytes.NewReader(body))
	if err != nil {
		return nil, err
	}
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("X-Pushcue", "1")
	answered, err := client.Do(r)
	if err != nil {
		return nil, err
	}
	p := &Page{answer: answered.Body, lines: json.NewDecoder(io.LimitReader(answered.Body, mostBytes))}
	var a Answer
	if err := p.lines.Decode(&a); err != nil || answered.StatusCode != http.StatusOK || a.Token == "" ||
		!hmac.Equal([]byte(a.Proof), []byte(n.Secret.prove("answer", ask.Nonce, a.Token))) {
		p.Close()
		return nil, errStranger
	}
	p.Address = fmt.Sprintf("%s/#enter=%s", origin, a.Token)
	return p, nil
}

// Wait waits until a page came in, and reports false when none did in time or the
// program has ended.
func (p *Page) Wait() bool {
	var u Used
	return p.lines.Decode(&u) == nil && u.Used
}

// Close stops waiting.
func (p *Page) Close() error { return p.answer.Close() }
