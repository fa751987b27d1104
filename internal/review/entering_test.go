package review

import (
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pushcue/internal/review/runs"
)

func TestAnInvitationWorksOnceAndForTwoMinutes(t *testing.T) {
	a := newAccess()
	now := time.Now()
	a.now = func() time.Time { return now }
	first, late := a.invite("http://127.0.0.1:1"), a.invite("http://127.0.0.1:1")
	now = now.Add(invitationLasts - time.Second)
	if a.enter(first.token) == nil {
		t.Error("it doesn't work")
	}
	if a.enter(first.token) != nil {
		t.Error("it works twice")
	}
	now = now.Add(time.Second)
	if a.enter(late.token) != nil {
		t.Error("it works after two minutes")
	}
	if strings.Contains(first.Address, "?") || !strings.Contains(first.Address, "/#") {
		t.Errorf("the token is sent along with requests: %s", first.Address)
	}
}

func TestOnlyALivingSessionsSecretsOpenAnything(t *testing.T) {
	b, _ := demo(t)
	mine := sessionOf(b.client)
	ask := func(path string) int {
		answer, err := http.Get(b.server.origin() + path)
		if err != nil {
			t.Fatal(err)
		}
		answer.Body.Close()
		if len(answer.Cookies()) > 0 {
			t.Errorf("%s sets a cookie", path)
		}
		return answer.StatusCode
	}
	for path, want := range map[string]int{
		mine.Media + "/media/part/0": 200, mine.Media + "/api/still?frame=0": 200, mine.Media + "/api/job": 403, mine.Media + "/handover/index.html": 403,
		mine.Handover + "/media/part/0": 403, "/s/" + mine.Key + "/media/part/0": 403, "/s/AAAA/media/part/0": 403, "/media/part/0": 403, "/api/job": 403, "/api/events": 403,
		"/api/job?key=" + mine.Key: 403, "/": 200, "/page/review.js": 200,
	} {
		if got := ask(path); got != want {
			t.Errorf("%s: %d, want %d", path, got, want)
		}
	}
	client, err := Enter(b.server.Invite().Address)
	if err != nil {
		t.Fatal(err)
	}
	other := sessionOf(client)
	b.server.access.mu.Lock()
	b.server.access.sessions = b.server.access.sessions[:len(b.server.access.sessions)-1]
	b.server.access.mu.Unlock()
	if got := ask(other.Media + "/media/part/0"); got != 403 {
		t.Errorf("the path of a session that has ended: %d", got)
	}
}

func TestASecondReviewIsLetInByTheFirst(t *testing.T) {
	dir, notes := t.TempDir(), t.TempDir()
	b := serve(t, "")
	b.server.o.Running = notes
	forget := b.server.note(dir)
	page, err := runs.Find(t.Context(), notes, dir)
	if err != nil || page == nil {
		t.Fatal(page, err)
	}
	defer page.Close()
	if _, err := Enter(page.Address); err != nil || !page.Wait() {
		t.Error("its address lets nobody in", err)
	}
	entries, err := os.ReadDir(notes)
	if err != nil || len(entries) != 1 {
		t.Fatal(entries, err)
	}
	path := filepath.Join(notes, entries[0].Name())
	if info, err := os.Stat(path); err != nil || info.Mode().Perm() != 0o600 && filepath.Separator == '/' {
		t.Error("others can read the note", info, err)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	write(t, path, strings.Replace(string(text), string(b.server.secret), "forged", 1))
	if page, _ := runs.Find(t.Context(), notes, dir); page != nil {
		t.Error("a program is believed that doesn't know the secret")
	}
	write(t, path, string(text))
	forget()
	if page, _ := runs.Find(t.Context(), notes, dir); page != nil {
		t.Error("its note stays")
	}
}

func TestFoldersElsewhereAreNeitherListedNorWrittenTo(t *testing.T) {
	top := t.TempDir()
	drive, outside := filepath.Join(top, "drive"), filepath.Join(top, "outside")
	for _, dir := range []string{drive, outside, filepath.Join(drive, "inside")} {
		if err := os.Mkdir(dir, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Symlink(outside, filepath.Join(drive, "out")); err != nil {
		t.Skip("no links here: ", err)
	}
	b := serve(t, "")
	real, err := filepath.EvalSymlinks(drive)
	if err != nil {
		t.Fatal(err)
	}
	b.server.ground = ground{drives: func() []string { return []string{real} }}
	if status, text := b.get("/api/folders?path=" + url.QueryEscape(real)); status != 200 || !strings.Contains(string(text), "inside") || strings.Contains(string(text), "out\"") {
		t.Errorf("%d %s", status, text)
	}
	for _, path := range []string{outside, top, "/", filepath.Join(real, "out"), filepath.Join(real, "..", "outside")} {
		if status, _ := b.get("/api/folders?path=" + url.QueryEscape(path)); status != http.StatusForbidden {
			t.Errorf("%s is listed: %d", path, status)
		}
		if status, _ := b.post("/api/new", `{"parent":`+quoted(path)+`,"name":"made"}`); status != http.StatusForbidden {
			t.Errorf("a job is made in %s: %d", path, status)
		}
		if status, _ := b.post("/api/choose", `{"folder":`+quoted(path)+`}`); status != http.StatusForbidden {
			t.Errorf("%s is opened: %d", path, status)
		}
		if _, err := b.server.ground.onDrive(path); err == nil {
			t.Errorf("a copy goes to %s", path)
		}
	}
	if status, _ := b.post("/api/new", `{"parent":`+quoted(real)+`,"name":"out"}`); status != http.StatusForbidden {
		t.Errorf("a job is made through a link: %d", status)
	}
	if entries, err := os.ReadDir(outside); err != nil || len(entries) > 0 {
		t.Errorf("%v %v", entries, err)
	}
}

func quoted(path string) string { return `"` + strings.ReplaceAll(path, `\`, `\\`) + `"` }
