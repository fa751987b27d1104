package review_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp/kb"

	"pushcue/internal/job"
	"pushcue/internal/testbrowser"
	"pushcue/internal/testfootage"
)

// Somebody who has never seen the program has a recording in an otherwise empty folder
// and three lines on a sheet of paper, and wants what the customer gets. The way there
// is walked with mouse and keys alone, and its length is told; at its end the handover is copied
// to a drive.
func TestANewcomerGetsFromAPaperLogToAHandoverOnADrive(t *testing.T) {
	home := t.TempDir()
	for _, name := range []string{"HOME", "USERPROFILE"} {
		t.Setenv(name, home)
	}
	folder := filepath.Join(home, "yard drain")
	if err := os.Mkdir(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	testfootage.Link(t, first, filepath.Join(folder, "rec0001.mp4"))

	p := serve(t, job.Ask{})
	clicks, keys := 0, 0
	press := func(says string) { t.Helper(); clicks++; p.press(says) }
	typed := func(text string) { t.Helper(); keys += len([]rune(text)); p.Press(text) }

	p.Until(`document.body.dataset.ready === "true"`)
	press("Open this job") // there is one folder with a recording, and it has the button beside it
	p.Until(`document.querySelector(".rooms")`)
	p.ready()
	p.frame(t)

	// The paper says: 3 s roots at 2.1 m, 8 s crack at 5 m, 14 s end of the line at 9.4 m.
	for _, line := range []struct {
		share          float64 // of the chart's width
		distance, kind string
	}{{0.25, "2.1", "roots"}, {0.52, "5", "crack"}, {0.88, "9.4", "end of the line"}} {
		p.ClickAt(".chart svg", line.share, 0.3)
		p.Click(".told [data-field=distance]")
		clicks += 2
		typed(line.distance)
		clicks++
		p.saved(func() { p.press(line.kind) })
	}

	// Which job and which line: what the customer reads first is asked for where it is made.
	press("Handover")
	for _, f := range []struct{ label, value string }{{"The push: Reference", "B-18"}, {"The line: Name", "yard lateral"}} {
		p.saved(func() {
			p.Do(fmt.Sprintf(`const l = [...document.querySelectorAll(".page label")].find(l => l.textContent === %q); const i = document.getElementById(l.htmlFor); i.scrollIntoView({block: "center"}); i.dataset.wanted = "yes"`, f.label))
			p.Click(`[data-wanted="yes"]`)
			clicks++
			typed(f.value + kb.Tab)
			p.Do(`delete document.querySelector("[data-wanted]").dataset.wanted`)
		})
	}

	pictured := func(view string) {
		if *keep == "" {
			return
		}
		for _, wide := range []int64{1280, 600} {
			p.Size(wide, 900)
			put(t, filepath.Join(*keep, fmt.Sprintf("finish-%s-%d.png", view, wide)), string(p.Window()))
		}
		p.Size(1024, 768)
	}
	at := func(step string) {
		t.Helper()
		p.Until(fmt.Sprintf(`document.querySelector("[aria-current=step] h3")?.textContent === %q && document.querySelector("#go-on").textContent !== "" && !document.querySelector("#go-on").disabled`, step))
		pictured(step)
	}
	at("Make it")
	press("Make the handover")
	at("Look at it")
	if first := testbrowser.Ask[string](p.Browser, `document.querySelector(".paper").textContent`); !strings.Contains(first, "technician") {
		t.Errorf("what the customer reads first isn't shown: %q", first)
	}
	press("Open the customer's page")
	t.Logf("from an empty folder with a recording and a paper log to a finished handover: %d clicks, %d keys", clicks, keys)
	if clicks > 15 {
		t.Errorf("%d clicks are too many", clicks)
	}
	for _, name := range []string{"index.html", "report.pdf", "SHA256SUMS", "log.csv"} {
		if _, err := os.Stat(filepath.Join(folder, "handover", name)); err != nil {
			t.Error(err)
		}
	}
	clips, err := filepath.Glob(filepath.Join(folder, "handover", "clips", "*.mp4"))
	if err != nil || len(clips) < 3 {
		t.Errorf("excerpts: %v (%v)", clips, err)
	}
	if opened, want := p.opened(), filepath.Join(folder, "handover", "index.html"); opened != want {
		t.Errorf("opened was %q, want %q", opened, want)
	}
	if warned := testbrowser.Ask[string](p.Browser, `document.querySelector(".did [role=alert]").textContent`); warned != "" {
		t.Errorf("the newcomer was told: %s", warned)
	}

	// What was said holds when the page is loaded anew.
	press("I've looked at it")
	at("What leaves the house")
	p.Do(`location.reload()`)
	p.Until(`document.body.dataset.ready === "true"`)
	at("What leaves the house")
	press("All of this may go out")
	at("Copy it to a drive")

	drive := t.TempDir()
	p.Do(`const l = [...document.querySelectorAll("label")].find(l => l.textContent === "Or a folder"); document.getElementById(l.htmlFor).focus()`)
	p.Press(drive)
	p.press("Copy to this drive")
	at("Take the drive out")
	copied, err := filepath.Glob(filepath.Join(drive, "*", "index.html"))
	if err != nil || len(copied) != 1 {
		t.Errorf("on the drive lies %v (%v)", copied, err)
	}
}
