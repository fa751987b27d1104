package review_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp/kb"

	"pushcue/internal/job"
	"pushcue/internal/testbrowser"
)

// paused is a log written through a pause of two minutes, and where a person saw its rows.
const paused = "time,distance,what\n10:00:01.0,1 m,roots\n10:00:05.0,2 m,crack\n10:02:08.0,3 m,belly\n10:02:12.0,4 m,hole\n"

const pausedAnchors = "[[anchor]]\nrow = 1\nvideo = \"0:01.0\"\n[[anchor]]\nrow = 2\nvideo = \"0:05.0\"\n[[anchor]]\nrow = 3\nvideo = \"0:08.0\"\n[[anchor]]\nrow = 4\nvideo = \"0:12.0\"\n"

// rewrite changes a file of a job folder.
func rewrite(t *testing.T, path string, change func(string) string) {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	put(t, path, change(string(text)))
}

func TestEveryWarningHasItsWayOut(t *testing.T) {
	folder := jobFolder(t, "en", paused, first)
	rewrite(t, filepath.Join(folder, "job.toml"), func(s string) string {
		return strings.Replace(s, "starts = \"10:00:00\"\n", "", 1) + pausedAnchors
	})
	p := open(t, folder)
	p.frame(t)
	p.press("To settle")
	if stuck := testbrowser.Ask[[]string](p.Browser, `[...document.querySelectorAll(".card")].filter(c => c.checkVisibility() && !c.querySelector("button")).map(c => c.textContent)`); len(stuck) > 0 {
		t.Errorf("no way out of %q", stuck)
	}
	seen := `[...document.querySelectorAll("summary")].some(s => s.checkVisibility() && s.textContent === "Seen, and left as it is: 1")`
	p.saved(func() { p.press("Yes, there was a pause") })
	p.Until(seen)

	// It is still so for whoever comes back, and can be taken back.
	p.Go(p.address)
	p.ready()
	p.press("To settle")
	p.Until(seen)
	p.Do(`[...document.querySelectorAll("summary")].find(s => s.textContent.startsWith("Seen, and left")).id = "left"`)
	p.Click("#left")
	p.Accessible(axe)
	p.saved(func() { p.press("Not settled after all") })
	p.Until(`![...document.querySelectorAll("summary")].some(s => s.checkVisibility() && s.textContent.startsWith("Seen, and left"))`)

	// What nothing ties is tied in its picture: the way leads there, with the field at hand.
	p.press("Say what the log's clock showed")
	p.Until(`document.activeElement.dataset.field === "tie"`)
	p.Accessible(axe)
	p.seek(175) // 7 s
	p.Do(`document.querySelector("[data-field=tie]").focus()`)
	p.saved(func() { p.Press("10:02:07.0" + kb.Enter) })
	p.Until(`[...document.querySelectorAll(".told li")].some(li => li.textContent.startsWith("It showed 10:02:07.0 at 0:07.000."))`)
	p.saved(func() { p.press("Undo") })
	p.Until(`![...document.querySelectorAll(".told li")].some(li => li.textContent.startsWith("It showed"))`)
}

// A visit of two pushes: one is chosen, and what is corrected belongs to it. Its log is
// made on the page with the firm's own kinds.
func TestAPushOfAVisitIsChosenAndLoggedInTheFirmsOwnWords(t *testing.T) {
	visit := filepath.Join(t.TempDir(), "2291")
	if err := os.Mkdir(visit, 0o755); err != nil {
		t.Fatal(err)
	}
	put(t, filepath.Join(visit, "visit.toml"), "[customer]\nname = \"Rowan Ashdale\"\n")
	for name, log := range map[string]string{"1-down": written, "2-up": ""} {
		if err := os.Rename(jobFolder(t, "en", log, first), filepath.Join(visit, name)); err != nil {
			t.Fatal(err)
		}
	}
	up := filepath.Join(visit, "2-up")
	put(t, filepath.Join(up, "kinds.csv"), "code,words,urgency,kind\nRT,thick roots,repair,roots\nZ9,tile of our own,watch,\n")
	rewrite(t, filepath.Join(up, "job.toml"), func(s string) string { return strings.Replace(s, "[log]\n", "[log]\nkinds = \"kinds.csv\"\n", 1) })

	p := serve(t, job.Ask{Path: visit})
	p.ready()
	p.frame(t)
	if n := len(p.state().Rows); n != 6 {
		t.Fatalf("the first push has %d rows", n)
	}
	p.Do(`const s = document.querySelector("header select"); s.value = "1"; s.dispatchEvent(new Event("change"))`)
	p.Until(`location.search === "?job=1" && document.body.dataset.ready === "true" && document.querySelector(".pad button")`)
	p.frame(t)
	if first := testbrowser.Ask[string](p.Browser, `document.querySelector(".pad button").firstChild.textContent + "/" + document.querySelectorAll(".pad button")[1].firstChild.textContent`); first != "thick roots/tile of our own" {
		t.Errorf("the firm's own kinds aren't the first to touch: %s", first)
	}
	count := `fetch("/api/job?job=1").then(r => r.json()).then(j => j.timeline ? j.timeline.observations.length : -1)`
	p.seek(100)
	p.press("thick roots")
	p.Until(count + `.then(n => n === 1)`)
	p.Press("2") // the second kind's key
	p.Until(count + `.then(n => n === 2)`)
	p.Click(".told [role=combobox]")
	p.Press("z9")
	p.Until(`document.querySelectorAll("[role=option]").length === 1`)
	p.Press(kb.ArrowDown + kb.Enter)
	p.Until(count + `.then(n => n === 3)`)
	got := testbrowser.Ask[[]string](p.Browser, `fetch("/api/job?job=1").then(r => r.json()).then(j => j.timeline.observations.map(o => [o.code, o.what, o.urgency].join(" ")))`)
	for i, want := range []string{"RT thick roots repair", "Z9 tile of our own watch", "Z9 tile of our own watch"} {
		if got[i] != want {
			t.Errorf("written was %q, want %q", got[i], want)
		}
	}
	if _, err := os.Stat(filepath.Join(visit, "1-down", "edits.jsonl")); err == nil {
		t.Error("the other push was corrected")
	}
	if text, err := os.ReadFile(filepath.Join(up, "edits.jsonl")); err != nil || strings.Count(string(text), "\n") != 3 {
		t.Errorf("%v: %s", err, text)
	}
}
