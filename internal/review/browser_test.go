package review_test

import (
	"bytes"
	"cmp"
	"context"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"image/png"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"pushcue/internal/job"
	"pushcue/internal/review"
	"pushcue/internal/testbrowser"
	"pushcue/internal/testfootage"
	"pushcue/timeline/edits"
)

// The tests in this folder's files named after a view look at the page in a real
// browser, served by the real program, on footage in which each frame carries its
// own number.

const axe = "../../testdata/node/node_modules/axe-core/axe.min.js"

// A page is a job shown in a browser.
type page struct {
	*testbrowser.Browser
	t testing.TB
	*served
}

// served is a job that is being looked over.
type served struct {
	folder  string
	address string
	server  *review.Server
	client  *http.Client // asks as a page does
	end     func() error
	shown   chan string // what is handed to the system's own programs
}

// state is the job as the program tells it, as far as these tests look.
type state struct {
	Revision int
	State    string
	Timeline *struct {
		Observations []observation
		Unplaced     []struct{ Row int }
	}
	Rows []struct {
		Row     int
		Added   string
		Placed  bool
		Aside   bool
		Written map[string]string
	}
	Warnings  []struct{ Code string }
	Questions []struct{ Text string }
	Undo      *struct{ Text string }
	Handover  struct{ Made bool }
	Words     struct{ Review map[string]string }
	Beside    []file
}

type observation struct {
	Number, Row                 int
	What, Basis, Urgency, Added *string
	Note                        *string
	Video                       float64  `json:"video_s"`
	Distance                    *float64 `json:"distance_m"`
	DistanceTo                  *float64 `json:"distance_to_m"`
	ClockFrom                   *float64 `json:"clock_from"`
	ClockTo                     *float64 `json:"clock_to"`
	StillTime                   *float64 `json:"still_s"`
	ClipFrom                    *float64 `json:"clip_from_s"`
	ClipTo                      *float64 `json:"clip_to_s"`
}

// open serves a job folder and shows it.
func open(t testing.TB, folder string) *page {
	t.Helper()
	p := serve(t, job.Ask{Path: folder})
	p.ready()
	return p
}

// standing is the program that one job after the other is opened in; nil before the first.
var standing *served

// serve has the program open a job for a test; an empty Ask shows the start page.
func serve(t testing.TB, ask job.Ask) *page {
	t.Helper()
	settings := filepath.Join(review.Lasting(), "settings")
	if standing == nil {
		s := begin(t, job.Ask{}, settings)
		review.AtEnd(func() { _ = s.end() })
		standing = s
	}
	if err := os.RemoveAll(settings); err != nil { // where it keeps what was opened before
		t.Fatal(err)
	}
	standing.folder = ask.Path
	if ask.Path != "" {
		standing.post(t, "/api/choose", `{"folder":`+quote(ask.Path)+`}`)
	}
	t.Cleanup(func() { standing.post(t, "/api/close", "{}") })
	return visit(t, standing)
}

// begin runs the program.
func begin(t testing.TB, ask job.Ask, settings string) *served {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	var over *job.Visit
	if ask.Path != "" {
		var err error
		if over, err = job.Open(ctx, ask); err != nil {
			t.Fatal(err)
		}
	}
	s := &served{folder: ask.Path, shown: make(chan string, 16)}
	server, err := review.Listen(review.Options{
		Visit: over, Ask: ask, Author: "tester", Settings: settings, Drives: review.DrivesOfTests, Tools: review.FindTools,
		Show: func(_ context.Context, target string) error {
			s.shown <- target
			return nil
		},
	})
	if err != nil {
		t.Fatal(err)
	}
	server.Timeless()
	ended := make(chan error, 1)
	go func() { ended <- server.Serve(ctx) }()
	s.server, s.address = server, server.Address()
	s.end = func() error { stop(); return <-ended }
	if s.client, err = review.Enter(server.Invite().Address); err != nil {
		t.Fatal(err)
	}
	return s
}

// visit shows a job in a window of its own. At its end it must have asked nobody but the
// program that serves it.
func visit(t testing.TB, s *served) *page {
	t.Helper()
	p := &page{testbrowser.Visit(t, s.server.Invite().Address), t, s}
	p.Do(review.SignsFetches)
	p.Before(review.SignsFetches)
	p.Size(1024, 768)
	t.Cleanup(func() {
		for _, asked := range p.Requests() {
			scheme, _, _ := strings.Cut(asked, ":")
			// The browser itself, not the page, asks for the sign of another test's window.
			if strings.HasPrefix(asked, "http://127.0.0.1:") && strings.HasSuffix(asked, "/favicon.ico") {
				continue
			}
			if !strings.HasPrefix(asked, s.origin()+"/") && !slices.Contains([]string{"blob", "data", "about"}, scheme) {
				t.Errorf("the page asked %s", asked)
			}
		}
	})
	return p
}

// kept is the folder of a job that several tests look at, with nothing corrected; make
// makes it for the first of them.
func kept(t testing.TB, name string, make func(t testing.TB) string) string {
	t.Helper()
	home := filepath.Join(review.Lasting(), name)
	folder := filepath.Join(home, "B-17")
	if err := os.Mkdir(home, 0o755); err == nil {
		if err := os.Rename(make(t), folder); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.RemoveAll(filepath.Join(folder, edits.File)); err != nil {
		t.Fatal(err)
	}
	return folder
}

// most is the program in which the job of most tests stays open; nil before the first.
var most *served

// usual shows the job of most tests. What an earlier one has corrected is taken back.
func usual(t testing.TB) *page {
	t.Helper()
	if most == nil {
		folder := kept(t, "usual", func(t testing.TB) string { return jobFolder(t, "en", written, first) })
		s := begin(t, job.Ask{Path: folder}, filepath.Join(review.Lasting(), "usual", "settings"))
		review.AtEnd(func() { _ = s.end() })
		most = s
	}
	for most.state(t).Undo != nil {
		most.post(t, "/api/undo", "{}")
	}
	p := visit(t, most)
	p.ready()
	return p
}

func (s *served) origin() string { return strings.TrimSuffix(s.address, "/") }

// get returns what an address answers.
func (s *served) get(t testing.TB, path string) (status int, body []byte) {
	t.Helper()
	answer, err := s.client.Get(s.origin() + path)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	if body, err = io.ReadAll(answer.Body); err != nil {
		t.Fatal(err)
	}
	return answer.StatusCode, body
}

// await waits until the job is as wanted.
func (s *served) await(t testing.TB, what string, as func(state) bool) {
	t.Helper()
	if !s.server.Await(func() bool { return as(s.state(t)) }) {
		t.Fatalf("waited for %s in vain", what)
	}
}

// ask asks the program as a page does, and returns what it answers.
func (s *served) ask(t testing.TB, address string, body io.Reader) []byte {
	t.Helper()
	method := http.MethodGet
	if body != nil {
		method = http.MethodPost
	}
	r, err := http.NewRequest(method, address, body)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("X-Pushcue", "1")
	answer, err := s.client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	if err != nil || answer.StatusCode != http.StatusOK {
		t.Fatalf("%s: %s %v %s", address, answer.Status, err, text)
	}
	return text
}

func (s *served) post(t testing.TB, path, body string) {
	t.Helper()
	s.ask(t, s.origin()+path, strings.NewReader(body))
}

func (s *served) state(t testing.TB) (now state) {
	t.Helper()
	if err := json.Unmarshal(s.ask(t, s.origin()+"/api/job", nil), &now); err != nil {
		t.Fatal(err)
	}
	return now
}

// opened is what is handed to the system's own programs next.
func (p *page) opened() string {
	p.t.Helper()
	select {
	case target := <-p.shown:
		return target
	case <-time.After(time.Hour):
		p.t.Fatal("nothing was opened")
	}
	return ""
}

func (p *page) state() state { p.t.Helper(); return p.served.state(p.t) }

// knows is an expression in the page: what it was told last of the job, in m.
func knows(what string) string {
	return `import("/page/store.js").then(({store: m}) => m.job && (` + what + `))`
}

// ready waits until the page shows a recording that has been looked through, and its rows.
func (p *page) ready() {
	p.t.Helper()
	p.Until(`document.body.dataset.ready === "true" && ` + knows(`m.job.state !== "opening"`))
}

// row returns where a row of the log stands now.
func (p *page) row(t testing.TB, row int) observation {
	t.Helper()
	s := p.state()
	if s.Timeline != nil {
		for _, o := range s.Timeline.Observations {
			if o.Row == row && o.Added == nil {
				return o
			}
		}
	}
	t.Fatalf("row %d isn't placed", row)
	return observation{}
}

// choose opens an observation from the list and waits for its frame.
func (p *page) choose(key string) {
	p.Click(fmt.Sprintf(`.item[data-key=%q]`, key))
	p.Until(`document.querySelector(".detail h2")`)
}

// press clicks the button that says so in the open room.
func (p *page) press(says string) {
	p.t.Helper()
	p.ClickOn(fmt.Sprintf(`[...document.querySelectorAll("button")].find(b => b.textContent.trim().startsWith(%q) && !b.disabled && b.offsetParent)`, says))
}

// saved does something and waits until the program has taken it as a correction, and the
// page shows what came of it.
func (p *page) saved(do func()) {
	p.t.Helper()
	before := testbrowser.Ask[int](p.Browser, knows(`m.job.revision`))
	do()
	p.Until(knows(fmt.Sprintf(`m.job.revision > %d && m.waiting.length === 0 && document.querySelector(".unsaved").hidden`, before)))
}

// frame is the number that the frame on the canvas carries, and the number the page says it shows.
func (p *page) frame(t testing.TB) (carried, named int) {
	t.Helper()
	p.Until(`document.querySelector("canvas").dataset.frame === String(Number(document.querySelector("input[type=range]").value)) && !document.querySelector("canvas").hidden`)
	named = testbrowser.Ask[int](p.Browser, `Number(document.querySelector("canvas").dataset.frame)`)
	data := testbrowser.Ask[string](p.Browser, `document.querySelector("canvas").toDataURL("image/png")`)
	return numberIn(t, data), named
}

// numberIn is the number that a picture carries (PNG, as an address that holds it).
func numberIn(t testing.TB, data string) int {
	t.Helper()
	raw, err := base64.StdEncoding.DecodeString(strings.TrimPrefix(data, "data:image/png;base64,"))
	if err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	n, ok := testfootage.ReadNumber(img)
	if !ok {
		t.Fatal("the picture carries no number")
	}
	return n
}

// first is a recording with B-frames, far key frames and a clock that doesn't start at
// zero; second goes on with its numbers in a container that no browser plays.
var (
	first  = testfootage.Spec{Frames: 400, Width: 160, Height: 120, GOP: 100, BFrames: 2, StartOffset: 480e6}
	second = testfootage.Spec{Frames: 75, First: 400, Width: 160, Height: 120, Container: "avi", Codec: "mjpeg"}
)

const sheet = `[job]
reference = "B-17"
date = 2026-04-14
zone = "Europe/Madrid"
units = "m"
language = %q
[line]
name = "yard lateral"
from = "rear clean-out"
travel = "downstream"
[recording]
files = [%s]
starts = "10:00:00"
[log]
file = "log.csv"
lag = "0s"
[counter]
look = "off"
`

const written = `time,distance,to,what,clock,urgency,note
10:00:01,0.4 m,,start of the line,,none,
10:00:03,2.1 m,,roots,10-2,repair,fine roots <b>at</b> the joint
10:00:05,4.0 m,6.2 m,belly,,watch,holds water
10:00:07,6.5 m,,crack,3,watch,
,,,grease,,,somewhere
10:00:13,9.0 m,,end of the line,,none,
`

// job makes a job folder of numbered footage; text goes into log.csv, "" leaves it out.
func jobFolder(t testing.TB, language, text string, specs ...testfootage.Spec) string {
	t.Helper()
	folder := filepath.Join(t.TempDir(), "B-17")
	if err := os.Mkdir(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	var names []string
	for i, s := range specs {
		name := fmt.Sprintf("part%d.%s", i+1, cmp.Or(s.Container, "mp4"))
		testfootage.Link(t, s, filepath.Join(folder, name))
		names = append(names, fmt.Sprintf("%q", name))
	}
	toml := fmt.Sprintf(sheet, language, strings.Join(names, ", "))
	if text == "" {
		toml = strings.Replace(toml, "file = \"log.csv\"\n", "", 1)
	} else {
		put(t, filepath.Join(folder, "log.csv"), text)
	}
	put(t, filepath.Join(folder, "job.toml"), toml)
	return folder
}

func put(t testing.TB, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}
