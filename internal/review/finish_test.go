package review

import (
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A handover goes to a drive only after somebody has looked at this very edition and agreed
// to what leaves the house with it; after a correction it is made again, and looked at again.
func TestAHandoverIsLookedAtBeforeItGoes(t *testing.T) {
	dir := jobFolder(t, demoSheet, demoLog)
	b := serve(t, dir)
	b.ready()
	if f := b.finish(""); f.Made || len(f.Outgoing) > 0 {
		t.Errorf("nothing was made: %+v", f)
	}
	last := ""
	run := func(path, body string) *task {
		t.Helper()
		if status, text := b.post(path, body); status != http.StatusAccepted {
			t.Fatalf("%s: %d %s", path, status, text)
		}
		s := b.until("the end of "+path, func(s state) bool { return s.Task != nil && s.Task.ID != last && s.Task.State != "running" })
		last = s.Task.ID
		return s.Task
	}
	stick := filepath.Join(t.TempDir(), "stick")
	if err := os.Mkdir(stick, 0o755); err != nil {
		t.Fatal(err)
	}
	copied := func(reader string) *task {
		t.Helper()
		return run("/api/copy", `{"drive":`+quoted(stick)+`,"for":"`+reader+`"}`)
	}
	refused := func(reader, says string) {
		t.Helper()
		if c := copied(reader); c.State != "failed" || c.Error == nil || !strings.Contains(c.Error.Text, says) {
			t.Errorf("a copy for %q ended %s: %+v, want %q", reader, c.State, c.Error, says)
		}
	}

	const some = `{"quick":true,"only":["page","log"]}`
	run("/api/make", some)
	f := b.finish("")
	if !f.Made || f.Looked || len(f.Changed) > 0 || len(f.Summary) < 2 {
		t.Fatalf("%+v", f)
	}
	// The summary is the page's own.
	page, err := os.ReadFile(filepath.Join(dir, "handover", "index.html"))
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range f.Summary {
		if first, _, _ := strings.Cut(l.Text, " "); !strings.Contains(string(page), first) {
			t.Errorf("the page doesn't say %q", l.Text)
		}
	}
	refused("", "nobody has looked")
	if status, _ := b.post("/api/finish", `{"step":"looked","edition":"another"}`); status != http.StatusConflict {
		t.Errorf("another edition was taken: %d", status)
	}
	b.post("/api/finish", `{"step":"looked","edition":"`+f.Edition+`"}`)
	refused("", "nobody has agreed")
	b.lookedAt("")
	if c := copied(""); c.State != "done" || c.For != "" || c.Result.(copiedResult).Edition != f.Edition {
		t.Errorf("%+v %+v", c, c.Error)
	}

	b.edit(`{"what":"set","row":1,"values":{"note":"thick ones"}}`)
	if f := b.finish(""); len(f.Changed) != 1 {
		t.Errorf("%+v", f)
	}
	refused("", "out of date")
	run("/api/make", some)
	if f := b.finish(""); f.Looked || f.Agreed || len(f.Changed) > 0 || f.Number != 2 {
		t.Errorf("a new edition was looked at by nobody: %+v", f)
	}
	refused("", "nobody has looked")

	// A buyer's is another one, with a list of its own.
	b.lookedAt("")
	if f := b.finish("buyer"); f.Made || f.Looked {
		t.Errorf("%+v", f)
	}
	run("/api/make", `{"quick":true,"only":["page","log"],"for":"buyer"}`)
	refused("buyer", "nobody has looked")
	b.lookedAt("buyer")
	if c := copied("buyer"); c.State != "done" || c.For != "buyer" {
		t.Errorf("%+v %+v", c, c.Error)
	}
	if status, _ := b.get("/api/finish?for=nobody"); status != http.StatusUnprocessableEntity {
		t.Errorf("a reader that there is none of: %d", status)
	}
}
