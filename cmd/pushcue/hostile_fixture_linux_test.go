package main

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"io"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"

	"pushcue/internal/testfootage"
)

// canary stands in every file outside the hostile job, and must appear nowhere else.
const canary = "canary-7Q2ZK-do-not-quote"

// hostileSheet names a file of every kind that a job sheet can name.
const hostileSheet = `[job]
reference = "2291-B"
date = 2026-03-02
zone = "Europe/Lisbon"
[firm]
name = "Alder Drains"
logo = "logo.jpg"
[recording]
files = ["part1.mp4"]
[log]
file = "log.csv"
kinds = "kinds.csv"
[distance]
readings = "counter.csv"
[counter]
look = "off"
[clips]
lead = "0.2s"
tail = "0.2s"
[[anchor]]
row = 1
video = "0:00.5"
`

// hostileFiles are the sources of the job before a trap is set in it.
func hostileFiles(t *testing.T) map[string]string {
	t.Helper()
	picture := jpegPicture(t)
	return map[string]string{
		"part1.mp4":          read(t, testfootage.Numbered(t, testfootage.Spec{Frames: 50, Width: 160, Height: 120})),
		"job.toml":           hostileSheet,
		"log.csv":            "time,distance,what,photo,spoken\n10:02:12,1.0 m,roots,photos/1.jpg,spoken/1.wav\n",
		"kinds.csv":          "code,words\nRT,roots\n",
		"counter.csv":        "video,distance\n0:00,0.9 m\n0:01.9,1.2 m\n",
		"logo.jpg":           picture,
		"photos/1.jpg":       picture,
		"spoken/1.wav":       wavTone(),
		"edits.jsonl":        `{"id":"a1","time":"2026-03-02T18:00:00Z","author":"ana","what":"sheet","values":{"line.material":"clay"}}` + "\n",
		"notes/scribble.txt": "bring the long reel\n",
	}
}

// outsideFiles lie beside the job: each could stand in for one of the job's, and each
// holds the canary.
func outsideFiles(t *testing.T) map[string]string {
	t.Helper()
	all := hostileFiles(t)
	all["log.csv"] = "video,distance,what\n0:00.5,1.0 m," + canary + "\n"
	all["kinds.csv"] = "code,words\nRT," + canary + "\n"
	all["counter.csv"] = "video,distance\n0:00," + canary + "\n"
	all["job.toml"] = "[job]\nreference = \"" + canary + "\"\n"
	all["firm.toml"] = "[firm]\nname = \"" + canary + "\"\n"
	all["edits.jsonl"] = `{"id":"x1","time":"2026-03-02T18:00:00Z","author":"` + canary + `","what":"sheet","values":{"line.material":"` + canary + `"}}` + "\n"
	for _, name := range []string{"part1.mp4", "logo.jpg", "photos/1.jpg", "spoken/1.wav", "notes/scribble.txt"} {
		all[name] += canary + "\n"
	}
	all["passwd"] = canary + ":x:0:0:root:/root:/bin/sh\n"
	return all
}

func jpegPicture(t *testing.T) string {
	t.Helper()
	var b bytes.Buffer
	must(t, jpeg.Encode(&b, image.NewGray(image.Rect(0, 0, 32, 24)), nil))
	return b.String()
}

// wavTone is a tenth of a second of a square wave at 8 kHz (RIFF WAVE, 16-bit PCM).
func wavTone() string {
	const rate, n = 8000, 800
	var b bytes.Buffer
	b.WriteString("RIFF")
	for _, field := range []any{
		uint32(36 + 2*n), []byte("WAVEfmt "), uint32(16), uint16(1), uint16(1), uint32(rate), uint32(2 * rate), uint16(2), uint16(16), []byte("data"), uint32(2 * n),
	} {
		_ = binary.Write(&b, binary.LittleEndian, field) // a buffer takes everything
	}
	for i := range n {
		_ = binary.Write(&b, binary.LittleEndian, int16(8000*(1-2*(i/20%2))))
	}
	return b.String()
}

// hostileJob is a made job of which every test gets its own copy.
var hostileJob = &madeJob{lay: func(t *testing.T, dir string) {
	for name, text := range hostileFiles(t) {
		writeTo(t, filepath.Join(dir, name), text)
	}
}}

// A hostileWorld is a folder with a stranger's job, what lies outside of it, and a
// drive and an archive folder that commands write to.
type hostileWorld struct {
	*testing.T
	top, job, outside, drive, archives string
}

func newHostileWorld(t *testing.T) *hostileWorld {
	t.Helper()
	top := t.TempDir()
	w := &hostileWorld{t, top, filepath.Join(top, "jobs", "job"), filepath.Join(top, "outside"), filepath.Join(top, "drive"), filepath.Join(top, "archives")}
	hostileJob.copyTo(t, w.job)
	for name, text := range outsideFiles(t) {
		writeTo(t, filepath.Join(w.outside, name), text)
	}
	must(t, os.CopyFS(filepath.Join(w.outside, "handover"), os.DirFS(filepath.Join(w.job, "handover"))))
	must(t, errors.Join(os.Mkdir(w.drive, 0o755), os.Mkdir(w.archives, 0o755)))
	return w
}

func (w *hostileWorld) at(name string) string { return filepath.Join(w.job, filepath.FromSlash(name)) }

// fill puts the world's own paths into a text: TOP and OUTSIDE.
func (w *hostileWorld) fill(text string) string {
	return strings.NewReplacer("TOP", w.top, "OUTSIDE", w.outside).Replace(text)
}

// write puts a text at a name, whatever stands there.
func (w *hostileWorld) write(name, text string) {
	w.Helper()
	w.clear(name)
	writeTo(w.T, w.at(name), w.fill(text))
}

// add puts a text behind what the file holds.
func (w *hostileWorld) add(name, text string) {
	w.Helper()
	w.write(name, read(w.T, w.at(name))+w.fill(text))
}

// change replaces a part of a file.
func (w *hostileWorld) change(name, old, now string) {
	w.Helper()
	text := read(w.T, w.at(name))
	if !strings.Contains(text, old) {
		w.Fatalf("%s holds no %q", name, old)
	}
	w.write(name, strings.Replace(text, old, now, 1))
}

func (w *hostileWorld) clear(name string) {
	w.Helper()
	must(w.T, errors.Join(os.RemoveAll(w.at(name)), os.MkdirAll(filepath.Dir(w.at(name)), 0o755)))
}

// link puts a symbolic link in the place of what stands at the name.
func (w *hostileWorld) link(name, target string) {
	w.Helper()
	w.clear(name)
	must(w.T, os.Symlink(w.fill(target), w.at(name)))
}

// node puts a pipe or a socket there.
func (w *hostileWorld) node(name string, kind uint32) {
	w.Helper()
	w.clear(name)
	must(w.T, syscall.Mknod(w.at(name), kind|0o600, 0))
}

// precious is what no command may change: everything but the job's own handover and
// work folder, the drive and the archives. Links are what they say.
func (w *hostileWorld) precious() map[string]string {
	w.Helper()
	all := map[string]string{}
	must(w.T, filepath.WalkDir(w.top, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, _ := filepath.Rel(w.top, path)
		ours := d.IsDir() && slices.Contains([]string{"jobs/job/handover", "jobs/job/work", "drive", "archives"}, rel)
		info, err := d.Info()
		if err != nil {
			return err
		}
		switch {
		case ours:
			return fs.SkipDir
		case d.Type()&fs.ModeSymlink != 0:
			all[rel], err = os.Readlink(path)
		case d.Type().IsRegular():
			all[rel] = info.Mode().String() + read(w.T, path)
		default:
			all[rel] = info.Mode().String()
		}
		return err
	}))
	return all
}

// quoted names the files in which commands of ours have put the canary.
func (w *hostileWorld) quoted() (names []string) {
	w.Helper()
	for _, dir := range []string{w.at("handover"), w.at("work"), w.drive, w.archives} {
		must(w.T, filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
			if err == nil && d.Type().IsRegular() && strings.Contains(read(w.T, path), canary) {
				names = append(names, path)
			}
			if errors.Is(err, fs.ErrNotExist) {
				return nil
			}
			return err
		}))
	}
	return names
}

// changed names what differs between two states.
func changed(before, after map[string]string) (names []string) {
	for name := range before {
		if after[name] != before[name] {
			names = append(names, name)
		}
	}
	for name := range after {
		if _, was := before[name]; !was {
			names = append(names, name+" (new)")
		}
	}
	slices.Sort(names)
	return names
}

// review opens the job's page in this process, visits it as a browser would, corrects
// something and ends the page; what was said and answered is returned.
func (w *hostileWorld) review() (code int, said string) {
	w.Helper()
	ctx, end := context.WithCancel(w.Context())
	defer end()
	var answers strings.Builder
	out := &onAddress{visit: func(address string) {
		defer end()
		p, err := enterPage(address)
		if err != nil {
			w.Error(err)
			return
		}
		for _, path := range []string{
			"/api/job", "/api/still?frame=0", "/media/part/0", "/media/spoken/spoken/1.wav", "/media/photo/photos/1.jpg", "/media/spoken/../../outside/log.csv",
			"/handover/index.html", "/handover/log.csv", "/handover/clips/findings.mp4", "/handover/../job.toml", "/handover/video/log.csv", "/api/counter/sheet",
		} {
			answers.WriteString(p.get(path).shown())
		}
		answers.WriteString(p.post("/api/edit", `{"what":"sheet","values":{"job.reason":"slow drain"}}`).shown())
	}}
	code = run(ctx, []string{"pushcue", "review", "--no-browser", "--author", "eve", w.job}, out, &out.oneWriter)
	out.visits.Wait()
	return code, out.String() + answers.String()
}

// onAddress is a standard output that calls visit once the address of a page is printed.
type onAddress struct {
	oneWriter
	visit  func(address string)
	visits sync.WaitGroup
}

func (o *onAddress) Write(p []byte) (int, error) {
	if text := string(p); strings.Contains(text, "#enter=") {
		o.visits.Go(func() { o.visit(strings.TrimSpace(text)) })
	}
	return o.oneWriter.Write(p)
}

// An enteredPage is a tab of the review page that was let in.
type enteredPage struct{ origin, key, media, handover string }

// enterPage exchanges an address that works once for a session, as the page does.
func enterPage(address string) (*enteredPage, error) {
	origin, token, _ := strings.Cut(address, "/#enter=")
	p := &enteredPage{origin: origin}
	answer := p.post("/api/enter", `{"token":"`+token+`"}`)
	var s struct{ Key, Media, Handover string }
	if json.Unmarshal([]byte(answer.body), &s) != nil || s.Key == "" {
		return nil, fmt.Errorf("not let in: %+v", answer)
	}
	p.key, p.media, p.handover = s.Key, s.Media, s.Handover
	return p, nil
}

// An answer is what the page's server said to a request.
type answer struct {
	asked, body string
	status      int // 0 where none came
}

// shown is the answer for a person to read: bodies only where they quote what lies outside.
func (a answer) shown() string {
	if !strings.Contains(a.body, canary) {
		a.body = ""
	}
	return fmt.Sprintf("%s: %d %s\n", a.asked, a.status, a.body)
}

// get asks for a path, below the session's secret path where the page would do so.
func (p *enteredPage) get(path string) answer {
	switch {
	case strings.HasPrefix(path, "/media/"):
		path = p.media + path
	case strings.HasPrefix(path, "/handover/"):
		path = p.handover + path
	}
	return p.ask(http.MethodGet, path, "")
}

func (p *enteredPage) post(path, body string) answer { return p.ask(http.MethodPost, path, body) }

func (p *enteredPage) ask(method, path, body string) answer {
	a := answer{asked: method + " " + path}
	r, err := http.NewRequest(method, p.origin+path, strings.NewReader(body))
	if err != nil {
		a.body = err.Error()
		return a
	}
	r.Header.Set("X-Pushcue-Key", p.key)
	if method == http.MethodPost {
		r.Header.Set("Content-Type", "application/json")
		r.Header.Set("X-Pushcue", "1")
	}
	got, err := http.DefaultTransport.RoundTrip(r)
	if err != nil {
		a.body = err.Error()
		return a
	}
	defer got.Body.Close()
	text, _ := io.ReadAll(got.Body) // what comes is looked through, whole or not
	a.status, a.body = got.StatusCode, string(text)
	return a
}
