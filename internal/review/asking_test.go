package review

import (
	"context"
	"encoding/json"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/handover"
	"pushcue/internal/job"
	"pushcue/internal/testfootage"
	"pushcue/timeline/document"
)

// limit ends a wait for what never comes. No computer is so slow that a verdict
// depends on it.
const limit = time.Hour

// findTools asks ffmpeg what it can once for all tests.
func findTools(context.Context, *job.Visit) (*ffmpeg.Tools, error) { return foundTools() }

var foundTools = sync.OnceValues(func() (*ffmpeg.Tools, error) { return ffmpeg.Find(context.Background(), ffmpeg.Where{}) })

// lasting is what lasts as long as the test program: a folder, and what must be ended.
var lasting struct {
	folder string
	ends   []func()
}

// allTests runs tests that share what lasts.
func allTests(tests func() int) int {
	giveWay = func(ctx context.Context) context.Context { return ctx }
	var err error
	if lasting.folder, err = os.MkdirTemp("", "pushcue-review-"); err != nil {
		panic(err)
	}
	defer os.RemoveAll(lasting.folder)
	defer func() {
		for _, end := range lasting.ends {
			end()
		}
	}()
	return tests()
}

// A browser asks a server as a page does.
type browser struct {
	t      testing.TB
	server *Server
	client *http.Client
}

// serve looks a job over; dir "" is the start page.
func serve(t testing.TB, dir string) *browser {
	t.Helper()
	b, end := begin(t, dir, t.TempDir())
	t.Cleanup(func() {
		if err := end(); err != nil {
			t.Error(err)
		}
	})
	return b
}

// begin starts what serve does; end ends it.
func begin(t testing.TB, dir, settings string) (b *browser, end func() error) {
	t.Helper()
	o := Options{Author: "ana", Tools: findTools, Settings: settings, Drives: DrivesOfTests}
	if dir != "" {
		o.Ask = job.Ask{Path: dir, Settings: settings, ToAsk: true}
		var err error
		if o.Visit, err = job.Open(t.Context(), o.Ask); err != nil {
			t.Fatal(err)
		}
	}
	s, err := Listen(o)
	if err != nil {
		t.Fatal(err)
	}
	s.Timeless()
	ctx, stop := context.WithCancel(context.WithoutCancel(t.Context()))
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(ctx) }()
	end = func() error { stop(); return <-ended }
	client, err := Enter(s.Invite().Address)
	if err != nil {
		_ = end()
		t.Fatal(err)
	}
	return &browser{t: t, server: s, client: client}, end
}

// demo is the job that most tests share, and its folder: of two parts, with nothing
// corrected. What a test corrects in it is taken back before the next one.
func demo(t testing.TB) (b *browser, dir string) {
	t.Helper()
	if shared.browser == nil {
		dir := filepath.Join(lasting.folder, "77-A")
		fill(t, dir, demoSheet, demoLog)
		testfootage.Link(t, part2, filepath.Join(dir, "part2.avi"))
		b, end := begin(t, dir, filepath.Join(lasting.folder, "settings"))
		shared.browser, shared.dir = b, dir
		lasting.ends = append(lasting.ends, func() { _ = end() })
	}
	b = &browser{t: t, server: shared.browser.server, client: shared.browser.client}
	for s := b.ready(); s.Undo != nil; s = b.job() {
		if status, text := b.post("/api/undo", "{}"); status != http.StatusOK {
			t.Fatalf("%d %s", status, text)
		}
	}
	return b, shared.dir
}

var shared struct {
	*browser
	dir string
}

func (b *browser) get(path string) (int, []byte) {
	b.t.Helper()
	answer, err := b.client.Get(b.server.origin() + path)
	if err != nil {
		b.t.Fatal(err)
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	if err != nil {
		b.t.Fatal(err)
	}
	return answer.StatusCode, text
}

func (b *browser) post(path, body string) (int, []byte) {
	b.t.Helper()
	r, err := http.NewRequest(http.MethodPost, b.server.origin()+path, strings.NewReader(body))
	if err != nil {
		b.t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("X-Pushcue", "1")
	r.Header.Set("Origin", b.server.origin())
	answer, err := b.client.Do(r)
	if err != nil {
		b.t.Fatal(err)
	}
	defer answer.Body.Close()
	text, _ := io.ReadAll(answer.Body)
	return answer.StatusCode, text
}

// job is what the server tells a page of the job.
func (b *browser) job() state {
	b.t.Helper()
	status, text := b.get("/api/job")
	if status != http.StatusOK {
		b.t.Fatalf("%d %s", status, text)
	}
	var s state
	if err := json.Unmarshal(text, &s); err != nil {
		b.t.Fatal(err)
	}
	return s
}

// until waits until the job is as wanted. It looks whenever pages are told of something.
func (b *browser) until(what string, as func(state) bool) state {
	b.t.Helper()
	return b.untilIn(0, what, as)
}

// untilIn is until for one job of a visit.
func (b *browser) untilIn(n int, what string, as func(state) bool) state {
	b.t.Helper()
	var s state
	if !b.server.await(func() bool { s = *b.server.now().sittings[n].state(); return as(s) }) {
		b.t.Fatalf("waited for %s in vain; the job is %s: %+v", what, s.State, s.Trouble)
	}
	return s
}

// await waits until something is so. It looks whenever pages are told of something, and
// reports false when that is in vain.
func (s *Server) await(is func() bool) bool {
	told := make(chan []byte, 64)
	s.events.mu.Lock()
	s.events.pages[told] = true
	s.events.mu.Unlock()
	defer func() {
		s.events.mu.Lock()
		delete(s.events.pages, told)
		s.events.mu.Unlock()
	}()
	over := time.After(limit)
	for !is() {
		select {
		case <-told:
		case <-over:
			return false
		}
	}
	return true
}

func (b *browser) ready() state {
	b.t.Helper()
	return b.until("a ready job", func(s state) bool { return s.State == "ready" })
}

// document is everything as it is placed now.
func (b *browser) document() string {
	b.t.Helper()
	text, err := json.Marshal(handover.Document(b.server.now().sittings[0].now.Load().placed))
	if err != nil {
		b.t.Fatal(err)
	}
	return string(text)
}

// lookedAt says what a person says of a handover before it may be copied.
func (b *browser) lookedAt(reader string) {
	b.t.Helper()
	for _, step := range []string{"looked", "agreed"} {
		f := b.finish(reader)
		body := `{"step":"` + step + `","for":"` + reader + `","edition":"` + f.Edition + `"}`
		if status, text := b.post("/api/finish", body); status != http.StatusOK {
			b.t.Fatalf("%s: %d %s", body, status, text)
		}
	}
}

// finish is how far the handover for a reader is.
func (b *browser) finish(reader string) (f finishShown) {
	b.t.Helper()
	status, text := b.get("/api/finish?for=" + reader)
	if err := json.Unmarshal(text, &f); err != nil || status != http.StatusOK {
		b.t.Fatalf("%d %s", status, text)
	}
	return f
}

// edit makes a correction that must be taken.
func (b *browser) edit(body string) state {
	b.t.Helper()
	status, text := b.post("/api/edit", body)
	if status != http.StatusOK {
		b.t.Fatalf("%s: %d %s", body, status, text)
	}
	var s state
	if err := json.Unmarshal(text, &s); err != nil {
		b.t.Fatal(err)
	}
	return s
}

func (b *browser) observation(s state, row int) document.Observation {
	b.t.Helper()
	for _, o := range s.Timeline.Observations {
		if o.Row == row {
			return o
		}
	}
	b.t.Fatalf("row %d isn't placed", row)
	panic("unreachable")
}
