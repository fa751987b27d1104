package main

import (
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"pushcue/internal/testfootage"
)

// Users that own nothing else on any computer.
const firstUser, secondUser = 61001, 61002

// A sharedComputer has two users. The first one has a job's page open; the second one
// knows what everybody can find out: the process, its port, the paths.
type sharedComputer struct {
	*testing.T
	base, home, job, temp, program string
	review                         *exec.Cmd
	origin, lead                   string
	said                           oneWriter
	session                        *enteredPage
}

func newSharedComputer(t *testing.T) *sharedComputer {
	t.Helper()
	if os.Geteuid() != 0 {
		t.Skip("NOT TRIED: only root can start programs as two users; run this test as root to hold the review page against another user of the computer")
	}
	base, err := os.MkdirTemp("", "shared-")
	must(t, err)
	t.Cleanup(func() { must(t, os.RemoveAll(base)) })
	c := &sharedComputer{T: t, base: base, home: filepath.Join(base, "ana"), temp: filepath.Join(base, "tmp"), program: filepath.Join(base, "bin", "pushcue")}
	c.job = filepath.Join(c.home, "jobs", "2291-B")
	self, err := os.Executable()
	must(t, err)
	copyTo(t, self, c.program)
	// What opens a browser on this computer: it tells the test what it was to open.
	writeTo(t, filepath.Join(base, "bin", "xdg-open"), "#!/bin/sh\nprintf '%s' \"$1\" > \"$HOME/opened\"\n")
	copyTo(t, testfootage.Numbered(t, testfootage.Spec{Frames: 50, Width: 160, Height: 120}), filepath.Join(c.job, "part1.mp4"))
	writeTo(t, filepath.Join(c.job, "log.csv"), "video,distance,what,note\n0:00.5,1.0 m,roots,"+canary+"\n")
	writeTo(t, filepath.Join(c.job, "job.toml"), sheetOfJobs+"[counter]\nlook = \"off\"\n")
	writeTo(t, filepath.Join(c.job, "handover", "index.html"), canary)
	must(t, os.MkdirAll(filepath.Join(c.home, "Downloads"), 0o755))
	must(t, syscall.Mkfifo(filepath.Join(c.home, "opened"), 0o600))
	must(t, os.Mkdir(c.temp, 0o777))
	must(t, filepath.WalkDir(c.home, func(path string, _ fs.DirEntry, err error) error {
		return errors.Join(err, os.Chown(path, firstUser, firstUser))
	}))
	// The home folder can be looked into, as many systems make them; the jobs can't.
	for path, mode := range map[string]fs.FileMode{base: 0o755, c.home: 0o755, filepath.Join(c.home, "jobs"): 0o700, c.temp: 0o777 | fs.ModeSticky, c.program: 0o755, filepath.Join(base, "bin", "xdg-open"): 0o755} {
		must(t, os.Chmod(path, mode))
	}
	return c
}

// as is a command of a user, in an environment as it has at login.
func (c *sharedComputer) as(user uint32, home string, args ...string) *exec.Cmd {
	cmd := exec.Command(c.program, args...)
	cmd.Dir = c.base
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: user, Gid: user}}
	cmd.Env = []string{"HOME=" + home, "TMPDIR=" + c.temp, "PATH=" + filepath.Dir(c.program) + ":" + os.Getenv("PATH"), "LANG=C.UTF-8"}
	return cmd
}

// open starts the first user's page, and waits until the browser is told to open it.
func (c *sharedComputer) open() {
	c.Helper()
	opened := filepath.Join(c.home, "opened")
	c.review = c.as(firstUser, c.home, "review", c.job)
	c.review.Stdout, c.review.Stderr = &c.said, &c.said
	must(c.T, c.review.Start())
	ended := make(chan error, 1)
	go func() { ended <- c.review.Wait() }()
	c.Cleanup(func() {
		_ = c.review.Process.Signal(os.Interrupt)
		<-ended
	})
	leads := make(chan string, 1)
	go func() {
		text, _ := os.ReadFile(opened) // waits until the opener has it open too
		leads <- string(text)
	}()
	select {
	case c.lead = <-leads:
	case err := <-ended:
		ended <- err
		c.Fatalf("the page has ended: %v\n%s", err, c.said.String())
	}
	c.origin = strings.TrimSuffix(strings.TrimSpace(strings.Split(c.said.String(), "\n")[0]), "/")
}

// token is what the file that leads the browser to the page holds.
func (c *sharedComputer) token() string {
	c.Helper()
	_, rest, found := strings.Cut(read(c.T, c.lead), "#enter=")
	token, _, _ := strings.Cut(rest, `"`)
	if !found || len(token) < 20 {
		c.Fatalf("no token in %s", c.lead)
	}
	return token
}

// secrets are what the second user must not get, by what they are.
func (c *sharedComputer) secrets(token string) map[string]string {
	c.Helper()
	all := map[string]string{
		"the log": canary, "the token": token,
		"a job's name": "2291-B",
	}
	notes, err := filepath.Glob(filepath.Join(c.home, ".cache", "pushcue", "running", "*.json"))
	must(c.T, err)
	if len(notes) != 1 {
		c.Fatalf("notes of what runs: %q", notes)
	}
	var note struct{ Secret string }
	must(c.T, json.Unmarshal([]byte(read(c.T, notes[0])), &note))
	all["the secret of the note"] = note.Secret
	if c.session != nil {
		all["the key of seals"] = strings.TrimSpace(read(c.T, filepath.Join(c.home, ".config", "pushcue", "work.key")))
		all["the session's key"], all["its path of pictures"], all["its path of the handover"] = c.session.key, c.session.media, c.session.handover
	}
	for what, secret := range all {
		if len(secret) < 6 {
			c.Fatalf("%s is %q", what, secret)
		}
	}
	return all
}

// pry has the second user try something; what it got comes back.
func (c *sharedComputer) pry(tries []try) []got {
	c.Helper()
	cmd := c.as(secondUser, c.temp)
	order, err := json.Marshal(tries)
	must(c.T, err)
	cmd.Env = append(cmd.Env, pryingChild+"="+string(order), "PUSHCUE_TEST_PORT="+c.origin[strings.LastIndex(c.origin, ":")+1:])
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	must(c.T, err)
	var all []got
	must(c.T, json.Unmarshal(out, &all))
	if len(all) != len(tries) {
		c.Fatalf("%d answers to %d tries", len(all), len(tries))
	}
	return all
}

// tries are all ways in which the second user pries.
func (c *sharedComputer) tries() []try {
	pid := strconv.Itoa(c.review.Process.Pid)
	proc, config, cache := "/proc/"+pid+"/", filepath.Join(c.home, ".config", "pushcue"), filepath.Join(c.home, ".cache", "pushcue")
	all := []try{
		{"its command line", "read", proc + "cmdline", false},
		{"the command lines of all processes", "read", "/proc/*/cmdline", false},
		{"its environment", "read", proc + "environ", true},
		{"its open files", "read", proc + "fd/*", true},
		{"the list of its open files", "list", proc + "fd", true},
		{"its memory map", "read", proc + "maps", true},
		{"its current folder", "list", proc + "cwd", true},
		{"its memory, as a debugger", "trace", pid, true},
		{"to end it", "kill", pid, true},
		{"the file that leads the browser in", "read", c.lead, true},
		{"the folder of that file", "list", filepath.Dir(c.lead), true},
		{"to put another file there", "write", c.lead, true},
		{"to put another folder there", "rename", filepath.Dir(c.lead), true},
		{"the settings", "list", config, true},
		{"the key of seals", "read", filepath.Join(config, "work.key"), true},
		{"the jobs opened lately", "read", filepath.Join(config, "recent.json"), true},
		{"to change the settings", "write", filepath.Join(config, "settings.toml"), true},
		{"the note of the page that runs", "read", filepath.Join(cache, "running", "*"), true},
		{"to leave a note", "write", filepath.Join(cache, "running", "forged.json"), true},
		{"what is known of ffmpeg", "read", filepath.Join(cache, "ffmpeg*", "*"), true},
		{"to change what is known of ffmpeg", "write", filepath.Join(cache, "ffmpeg", "x"), true},
		{"temporary folders", "read", filepath.Join(c.temp, "pushcue-*", "*"), true},
		{"to write into temporary folders", "write", filepath.Join(c.temp, "pushcue-*", "x"), true},
		{"the job folder", "list", c.job, true},
		{"the log", "read", filepath.Join(c.job, "log.csv"), true},
		{"the corrections", "write", filepath.Join(c.job, "edits.jsonl"), true},
		{"the handover", "read", filepath.Join(c.job, "handover", "index.html"), true},
		{"our folder of the job", "list", filepath.Join(c.job, "work"), true},
		{"the page, without a key", "http", "GET /", false},
		{"a script of the page", "http", "GET /page/server.js", false},
	}
	for _, route := range []string{"page", "events", "job", "frames", "still?frame=0", "counter/sheet", "drives", "start", "folders?path=/"} {
		all = append(all,
			try{"GET " + route + " without a key", "http", "GET /api/" + route, true},
			try{"GET " + route + " with a wrong key", "http", "GET /api/" + route + "\nX-Pushcue-Key: AAAAAAAAAAAAAAAAAAAAAAAAAA", true})
	}
	for route, body := range map[string]string{
		"edit": `{"what":"sheet","values":{"job.reason":"x"}}`, "undo": `{}`, "redo": `{}`, "proxy": `{}`, "make": `{}`, "copy": `{"drives":["/mnt"]}`, "stop": `{}`, "show": `{"what":"folder"}`,
		"new": `{"parent":"` + c.home + `","name":"x"}`, "choose": `{"folder":"` + c.job + `"}`, "close": `{}`, "invite": `{}`,
		"enter": `{"token":"AAAAAAAAAAAAAAAAAAAAAAAAAA"}`, "join": `{"nonce":"x","proof":"x"}`,
	} {
		all = append(all,
			try{"POST " + route + " without a key", "http", "POST /api/" + route + asPage + "\n\n" + body, true},
			try{"POST " + route + " with an empty key", "http", "POST /api/" + route + asPage + "\nX-Pushcue-Key: \n\n" + body, true})
	}
	for what, request := range map[string]string{
		"the token left out": "POST /api/enter" + asPage + "\n\n{}", "no body": "POST /api/enter" + asPage, "a proof of nothing": "POST /api/join" + asPage + "\n\n" + `{"nonce":"","proof":""}`,
		"pictures": "GET /media/part/0", "pictures by a guessed path": "GET /s/AAAA/media/part/0", "pictures by no path": "GET /s//media/part/0", "the handover": "GET /handover/index.html",
		"the handover by a guessed path": "GET /h/AAAA/handover/index.html", "the handover by the page's folder": "GET /page/../handover/index.html", "the log by the page's folder": "GET /page/%2e%2e/%2e%2e/log.csv",
		"the key in the address": "GET /api/job?key=AAAA&token=AAAA", "the key as a cookie": "GET /api/job\nCookie: X-Pushcue-Key=AAAA", "as a web socket": "GET /api/events\nConnection: Upgrade, close\nUpgrade: websocket\nSec-WebSocket-Version: 13\nSec-WebSocket-Key: AAAAAAAAAAAAAAAAAAAAAA==",
		"as a stream of events": "GET /api/events\nAccept: text/event-stream\nLast-Event-ID: 0", "by localhost": "GET /api/job\nHost: localhost:PORT", "by a name that leads here": "GET /api/job\nHost: rebind.example:PORT",
		"by the number with a dot": "GET /api/job\nHost: 127.0.0.1.:PORT", "by the number in one": "GET /api/job\nHost: 2130706433:PORT", "by no host": "GET /api/job\nHost: ", "by another port": "GET /api/job\nHost: 127.0.0.1:1",
		"by its whole address": "GET http://rebind.example/api/job\nHost: 127.0.0.1:PORT", "from another page": "GET /api/job\nOrigin: http://rebind.example", "from nowhere": "POST /api/invite\nOrigin: null" + asPage + "\n\n{}",
		"as the page itself": "GET /api/job\nOrigin: http://127.0.0.1:PORT\nSec-Fetch-Site: same-origin", "as a frame": "GET /\nSec-Fetch-Site: cross-site\nSec-Fetch-Mode: navigate\nSec-Fetch-Dest: iframe", "asking what is allowed": "OPTIONS /api/edit\nOrigin: http://rebind.example\nAccess-Control-Request-Method: POST",
		"tracing": "TRACE /api/job", "as a proxy": "CONNECT 127.0.0.1:PORT", "by another method": "DELETE /api/job",
	} {
		public := what == "as a frame" // the page itself, which holds nothing
		all = append(all, try{what, "http", request, !public})
	}
	return append(all, try{"by a second pushcue", "pushcue", c.job, true})
}

const asPage = "\nContent-Type: application/json\nX-Pushcue: 1"

func TestAnotherUserOfTheComputerGetsNothing(t *testing.T) {
	t.Parallel()
	c := newSharedComputer(t)
	// A folder that looks like ours of a killed run, with a link to what the first user may delete.
	planted := filepath.Join(c.temp, "pushcue-0123456789abcdef")
	must(t, os.Mkdir(planted, 0o777))
	writeTo(t, filepath.Join(planted, ".pushcue-lock"), "")
	must(t, os.Symlink(c.job, filepath.Join(planted, "job")))
	must(t, errors.Join(os.Chown(planted, secondUser, secondUser), os.Chown(filepath.Join(planted, ".pushcue-lock"), secondUser, secondUser)))
	before := contents(t, c.job)

	c.open()
	token := c.token()
	hold := func(when string) {
		t.Helper()
		tries := c.tries()
		secrets := c.secrets(token)
		for i, g := range c.pry(tries) {
			for what, secret := range secrets {
				if what == "a job's name" && strings.Contains(tries[i].what, "command line") {
					continue // who starts a program shows what it was started with
				}
				if strings.Contains(g.Text, secret) {
					t.Errorf("%s, %s gives %s: %.300s", when, tries[i].what, what, g.Text)
				}
			}
			if g.Done && tries[i].closed {
				t.Errorf("%s, %s is possible: %.300s", when, tries[i].what, g.Text)
			}
			if !g.Done && !tries[i].closed {
				t.Errorf("%s, %s fails, so that nothing was tried: %s", when, tries[i].what, g.Err)
			}
		}
		t.Logf("%s: %d ways", when, len(tries))
	}
	hold("before the page is open")
	var err error
	if c.session, err = enterPage(c.origin + "/#enter=" + token); err != nil {
		t.Fatal(err)
	}
	if a := c.session.get("/api/job"); a.status != 200 {
		t.Fatalf("the first user isn't served: %+v", a)
	}
	if a := c.session.post("/api/edit", `{"what":"sheet","values":{"job.reason":"slow drain"}}`); a.status != 200 { // the job is placed by then
		t.Fatalf("the first user can't correct anything: %+v", a)
	}
	if a := c.session.get("/handover/index.html"); a.body != canary {
		t.Fatalf("the first user isn't shown the handover: %+v", a)
	}
	hold("while the page is open")
	if g := c.pry([]try{{"the token that was used", "http", "POST /api/enter" + asPage + "\n\n" + `{"token":"` + token + `"}`, true}})[0]; g.Done {
		t.Errorf("the token works twice: %s", g.Text)
	}

	after := contents(t, c.job)
	for _, name := range changed(before, after) {
		if !strings.HasPrefix(name, "work/") && !strings.HasPrefix(name, "edits.jsonl") {
			t.Errorf("%s of the job was changed", name)
		}
	}
	if left := names(t, filepath.Join(c.home, "jobs")); !slices.Equal(left, []string{"2291-B"}) {
		t.Errorf("beside the job lies %q", left)
	}
	if said := c.said.String(); strings.Contains(said, token) {
		t.Errorf("the token is printed: %s", said)
	}
}
