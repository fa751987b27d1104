package review

import (
	"net/http"
	"strings"
	"syscall"
	"testing"

	"pushcue/internal/testdrive"
)

// What befalls a drive half-way is told on the page, and the next copy goes on from there.
func TestACopyThatIsCutShortSaysSoAndGoesOn(t *testing.T) {
	b := serve(t, jobFolder(t, demoSheet, demoLog))
	b.ready()
	if status, answer := b.post("/api/make", `{"only":["log","stills"]}`); status != http.StatusAccepted {
		t.Fatalf("%d %s", status, answer)
	}
	last := b.until("a handover", func(s state) bool { return s.Task != nil && s.Task.State == "done" }).Task.ID
	b.lookedAt("")
	copied := func(stick *testdrive.Drive) state {
		t.Helper()
		if status, answer := b.post("/api/copy", `{"drive":"`+stick.Dir+`"}`); status != http.StatusAccepted {
			t.Fatalf("%d %s", status, answer)
		}
		s := b.until("the copy's end", func(s state) bool { return s.Task.ID != last && s.Task.State != "running" })
		last = s.Task.ID
		return s
	}
	const halfWay = 6000
	for name, c := range map[string]struct {
		befall func(*testdrive.Drive)
		says   string
	}{
		"somebody else fills it": {func(d *testdrive.Drive) {
			d.Set(testdrive.Rules{OnWrite: func(all int64) {
				if all > halfWay {
					d.Limit(halfWay)
				}
			}})
		}, "full"},
		"it is pulled out": {func(d *testdrive.Drive) { d.Set(testdrive.Rules{Breaks: halfWay, With: syscall.ENODEV}) }, "stopped answering"},
	} {
		t.Run(name, func(t *testing.T) {
			stick := testdrive.Mount(t, testdrive.Rules{})
			c.befall(stick)
			if s := copied(stick); s.Task.State != "failed" || s.Task.Error == nil || !strings.Contains(s.Task.Error.Text, c.says) || s.Task.Error.Hint == "" {
				t.Errorf("%+v %+v", s.Task, s.Task.Error)
			}
			stick.Set(testdrive.Rules{})
			if s := copied(stick); s.Task.State != "done" {
				t.Errorf("the second time: %+v %+v", s.Task, s.Task.Error)
			}
		})
	}
}
