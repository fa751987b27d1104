package review_test

import (
	"bytes"
	"context"
	"encoding/base64"
	"fmt"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/handover"
	"pushcue/internal/review"
	"pushcue/internal/testbrowser"
	"pushcue/internal/testfootage"
)

// The tests in this folder's files named after a view look at the page in a real
// browser, served by the real program, on footage in which each frame carries its
// own number.

const axe = "../../testdata/node/node_modules/axe-core/axe.min.js"

// A page is a job shown in a browser.
type page struct {
	*testbrowser.Browser
	folder  string
	address string
	shown   func() []string // what was handed to the system's own programs
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
func open(t *testing.T, folder string) *page {
	t.Helper()
	p := serve(t, handover.Ask{Path: folder})
	p.folder = folder
	p.ready()
	return p
}

// ready waits until the recording has been looked through and the rows are placed.
func (p *page) ready() {
	p.Until(`document.body.dataset.ready === "true" && fetch("/api/job").then(r => r.json()).then(j => j.state !== "opening")`)
}

// serve runs the program for a test; an empty Ask shows the start page.
func serve(t *testing.T, ask handover.Ask) *page {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	var visit *handover.Visit
	if ask.Path != "" {
		var err error
		if visit, err = handover.Open(ctx, ask); err != nil {
			t.Fatal(err)
		}
	}
	var mu sync.Mutex
	var shown []string
	server, err := review.Listen(review.Options{
		Visit: visit, Ask: ask, Author: "tester", Settings: t.TempDir(),
		Tools: func(ctx context.Context, v *handover.Visit) (*ffmpeg.Tools, error) {
			return ffmpeg.Find(ctx, ffmpeg.Where{Cache: ffmpeg.UserCache()})
		},
		Show: func(_ context.Context, target string) error {
			mu.Lock()
			defer mu.Unlock()
			shown = append(shown, target)
			return nil
		},
	})
	if err != nil {
		t.Fatal(err)
	}
	ended := make(chan error, 1)
	go func() { ended <- server.Serve(ctx) }()
	t.Cleanup(func() {
		stop()
		if err := <-ended; err != nil && ctx.Err() == nil {
			t.Error(err)
		}
	})
	b := testbrowser.Visit(t, server.Address())
	b.Size(1024, 768)
	return &page{Browser: b, address: server.Address(), shown: func() []string {
		mu.Lock()
		defer mu.Unlock()
		return append([]string(nil), shown...)
	}}
}

func (p *page) state() state {
	return testbrowser.Ask[state](p.Browser, `fetch("/api/job").then(r => r.json())`)
}

// row returns where a row of the log stands now.
func (p *page) row(t *testing.T, row int) observation {
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
	p.Until(fmt.Sprintf(`[...document.querySelectorAll("button")].some(b => b.textContent.trim().startsWith(%q) && !b.disabled && b.offsetParent)`, says))
	p.Do(fmt.Sprintf(`const b = [...document.querySelectorAll("button")].find(b => b.textContent.trim().startsWith(%q) && !b.disabled && b.offsetParent); b.dataset.pressed = "now"`, says))
	p.Click(`[data-pressed="now"]`)
	p.Do(`document.querySelectorAll("[data-pressed]").forEach(b => delete b.dataset.pressed)`)
}

// saved does something and waits until the program has taken it as a correction.
func (p *page) saved(do func()) {
	before := p.state().Revision
	do()
	p.Until(fmt.Sprintf(`fetch("/api/job").then(r => r.json()).then(j => j.revision > %d)`, before))
	p.settled()
}

// settled waits until the page shows what the program knows.
func (p *page) settled() {
	p.Until(`document.querySelector(".unsaved").hidden && document.querySelector("[role=status].did, .did [role=status]").textContent !== ""`)
}

// frame is the number that the frame on the canvas carries, and the number the page says it shows.
func (p *page) frame(t *testing.T) (carried, named int) {
	t.Helper()
	p.Until(`document.querySelector("canvas").dataset.frame === String(Number(document.querySelector("input[type=range]").value)) && !document.querySelector("canvas").hidden`)
	named = testbrowser.Ask[int](p.Browser, `Number(document.querySelector("canvas").dataset.frame)`)
	data := testbrowser.Ask[string](p.Browser, `document.querySelector("canvas").toDataURL("image/png")`)
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
		t.Fatalf("the picture named %d carries no number", named)
	}
	return n, named
}

// first is a recording with B-frames, far key frames and a clock that doesn't start at
// zero; second goes on with its numbers in a container that no browser plays.
var (
	first  = testfootage.Spec{Frames: 400, GOP: 100, BFrames: 2, StartOffset: 480e6}
	second = testfootage.Spec{Frames: 75, First: 400, Container: "avi", Codec: "mjpeg"}
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
func job(t *testing.T, language, text string, specs ...testfootage.Spec) string {
	t.Helper()
	folder := filepath.Join(t.TempDir(), "B-17")
	if err := os.Mkdir(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	var names []string
	for i, s := range specs {
		from := testfootage.Numbered(t, s)
		name := fmt.Sprintf("part%d%s", i+1, filepath.Ext(from))
		data, err := os.ReadFile(from)
		if err != nil {
			t.Fatal(err)
		}
		put(t, filepath.Join(folder, name), string(data))
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

func put(t *testing.T, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}
