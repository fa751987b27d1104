package review

import (
	"bufio"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"net/http/cookiejar"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/handover"
	"pushcue/internal/testfootage"
	"pushcue/timeline"
)

const (
	demoSheet = "[job]\nreference = \"77-A\"\ndate = 2026-03-02\nzone = \"Europe/Lisbon\"\n[recording]\nstarts = \"10:00:00\"\n[log]\nlag = \"0s\"\n[counter]\nlook = \"off\"\n"
	demoLog   = "time;distance;what;clock;urgency;note\n10:00:00;1.0;roots;9-3;repair;fine ones\n10:00:01;2.0;crack;12;watch;\n10:00:02;x.x;belly;6;;\n"
)

// footage is a recording in two parts, the second of which browsers don't play.
func footage(t testing.TB, dir string) {
	t.Helper()
	copyFile(t, testfootage.Numbered(t, testfootage.Spec{Frames: 60, GOP: 30, BFrames: 2}), filepath.Join(dir, "part1.mp4"))
	copyFile(t, testfootage.Numbered(t, testfootage.Spec{Frames: 25, First: 60, Container: "avi", Codec: "mjpeg"}), filepath.Join(dir, "part2.avi"))
}

func copyFile(t testing.TB, from, to string) {
	t.Helper()
	data, err := os.ReadFile(from)
	if err != nil {
		t.Fatal(err)
	}
	write(t, to, string(data))
}

func write(t testing.TB, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func jobFolder(t testing.TB, sheet, log string) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "77-A")
	if err := os.Mkdir(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	footage(t, dir)
	write(t, filepath.Join(dir, "job.toml"), sheet)
	if log != "" {
		write(t, filepath.Join(dir, "log.csv"), log)
	}
	return dir
}

func findTools(ctx context.Context, _ *handover.Visit) (*ffmpeg.Tools, error) {
	return ffmpeg.Find(ctx, ffmpeg.Where{Cache: ffmpeg.UserCache()})
}

// A browser asks a server as a page does.
type browser struct {
	t      testing.TB
	server *Server
	client *http.Client
	ended  chan error
}

// serve looks a job over; dir "" is the start page.
func serve(t testing.TB, dir string) *browser {
	t.Helper()
	o := Options{Author: "ana", Tools: findTools, Settings: t.TempDir()}
	if dir != "" {
		o.Ask = handover.Ask{Path: dir, ToAsk: true}
		var err error
		if o.Visit, err = handover.Open(t.Context(), o.Ask); err != nil {
			t.Fatal(err)
		}
	}
	s, err := Listen(o)
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.WithoutCancel(t.Context()))
	b := &browser{t: t, server: s, ended: make(chan error, 1)}
	go func() { b.ended <- s.Serve(ctx) }()
	t.Cleanup(func() {
		stop()
		if err := <-b.ended; err != nil {
			t.Error(err)
		}
	})
	jar, _ := cookiejar.New(nil)
	b.client = &http.Client{Jar: jar, Timeout: time.Minute}
	if status, _ := b.get(strings.TrimPrefix(s.Address(), s.origin())); status != http.StatusOK {
		t.Fatalf("the printed address answers %d", status)
	}
	return b
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

// seen is what tests look at of a job's state.
type seen struct {
	state
	Timeline *timeline.Document `json:"timeline"`
}

func (b *browser) job() seen {
	b.t.Helper()
	status, text := b.get("/api/job")
	if status != http.StatusOK {
		b.t.Fatalf("%d %s", status, text)
	}
	var s seen
	if err := json.Unmarshal(text, &s); err != nil {
		b.t.Fatal(err)
	}
	return s
}

// until waits for events until the job is as wanted.
func (b *browser) until(what string, as func(seen) bool) seen {
	b.t.Helper()
	ctx, stop := context.WithTimeout(b.t.Context(), 90*time.Second)
	defer stop()
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, b.server.origin()+"/api/events", nil)
	if err != nil {
		b.t.Fatal(err)
	}
	client := *b.client
	client.Timeout = 0
	answer, err := client.Do(r)
	if err != nil {
		b.t.Fatal(err)
	}
	defer answer.Body.Close()
	lines := bufio.NewScanner(answer.Body)
	for lines.Scan() {
		if s := b.job(); as(s) {
			return s
		}
	}
	b.t.Fatalf("waited for %s in vain: %v; it is %+v", what, lines.Err(), b.job().state.State)
	panic("unreachable")
}

func (b *browser) ready() seen {
	b.t.Helper()
	return b.until("a ready job", func(s seen) bool { return s.State == "ready" })
}

// document is everything as it is placed now.
func (b *browser) document() string {
	b.t.Helper()
	text, err := json.Marshal(b.server.now().sittings[0].now.Load().placed.Document())
	if err != nil {
		b.t.Fatal(err)
	}
	return string(text)
}

// edit makes a correction that must be taken.
func (b *browser) edit(body string) seen {
	b.t.Helper()
	status, text := b.post("/api/edit", body)
	if status != http.StatusOK {
		b.t.Fatalf("%s: %d %s", body, status, text)
	}
	var s seen
	if err := json.Unmarshal(text, &s); err != nil {
		b.t.Fatal(err)
	}
	return s
}

func (b *browser) observation(s seen, row int) timeline.DocumentObservation {
	b.t.Helper()
	for _, o := range s.Timeline.Observations {
		if o.Row == row {
			return o
		}
	}
	b.t.Fatalf("row %d isn't placed", row)
	panic("unreachable")
}
