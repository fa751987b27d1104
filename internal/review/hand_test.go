package review_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp/kb"

	"pushcue/internal/handover"
	"pushcue/internal/testbrowser"
)

func TestAHandoverIsMadeAndCopiedFromThePage(t *testing.T) {
	p := open(t, job(t, "en", written, first))
	p.press("Handover")
	p.Click(".check") // quick: this test is about the page, not about burning
	p.press("Make the handover")
	p.Until(`document.querySelector(".did [role=status]").textContent === "The handover is made."`)
	if _, err := os.Stat(filepath.Join(p.folder, "handover", "SHA256SUMS")); err != nil {
		t.Error(err)
	}
	p.press("Open the customer's page")
	p.Until(`true`)
	drive := t.TempDir()
	p.Do(`const l = [...document.querySelectorAll("label")].find(l => l.textContent === "Or a folder"); document.getElementById(l.htmlFor).focus()`)
	p.Press(drive)
	p.press("Copy")
	p.Until(`document.querySelector(".did [role=status]").textContent.startsWith("Everything was copied")`)
	found, err := filepath.Glob(filepath.Join(drive, "*", "index.html"))
	if err != nil || len(found) != 1 {
		t.Errorf("on the drive lies %v (%v)", found, err)
	}
	if opened := strings.Join(p.shown(), " "); !strings.Contains(opened, "index.html") {
		t.Errorf("opened was %q", opened)
	}
}

func TestAQuestionIsAnsweredByAClick(t *testing.T) {
	// 03/04 may be March or April, and nothing else in the log or the sheet tells.
	text := "date,time,distance,what\n03/04/2026,10:00:01,0.4 m,roots\n03/04/2026,10:00:05,4.0 m,crack\n"
	folder := job(t, "en", text, first)
	sheet, err := os.ReadFile(filepath.Join(folder, "job.toml"))
	if err != nil {
		t.Fatal(err)
	}
	put(t, filepath.Join(folder, "job.toml"), strings.Replace(string(sheet), "date = 2026-04-14\n", "", 1))
	p := open(t, folder)
	// What can't be placed yet can be looked at already.
	p.Until(`document.querySelector(".page h2").textContent === "1 to settle"`)
	p.saved(func() { p.Click(".card .row button") })
	p.Until(`document.querySelector(".page h2").textContent.startsWith("Nothing left")`)
	if n := len(p.state().Timeline.Observations); n != 2 {
		t.Errorf("%d observations placed, want 2", n)
	}
}

func TestARowWithoutAPlaceIsFound(t *testing.T) {
	p := open(t, job(t, "en", written, first))
	p.press("To settle")
	p.press("Find it in the recording")
	p.Until(`document.querySelector(".detail h2").textContent === "grease"`)
	p.seek(333)
	p.saved(func() { p.press("Seen in this picture") })
	if o := p.row(t, 5); o.Video < 13.31 || o.Video > 13.33 || o.Basis == nil || *o.Basis != "person" {
		t.Errorf("row 5 stands at %v s", o.Video)
	}
	p.Until(`document.querySelector(".rooms .count").hidden`)
}

func TestAJobIsChosenOrMadeOnTheStartPage(t *testing.T) {
	there := job(t, "en", written, first)
	p := serve(t, handover.Ask{})
	p.Until(`document.body.dataset.ready === "true"`)
	p.Accessible(axe)
	// A folder may be typed into the address of the browser's walk: here the page is led there.
	p.Do(`const r = await fetch("/api/choose", {method: "POST", headers: {"Content-Type": "application/json", "X-Pushcue": "1"}, body: JSON.stringify({folder: ` + quote(there) + `})}); if (!r.ok) throw new Error(await r.text())`)
	p.Go(p.address)
	p.Until(`document.body.dataset.ready === "true" && document.querySelector(".rooms")`)
	if name := testbrowser.Ask[string](p.Browser, `document.querySelector("h1 bdi").textContent`); name != "B-17" {
		t.Errorf("opened was %q", name)
	}
	p.press("Another job")
	p.Until(`document.querySelector("#recent")`)
	p.Until(`[...document.querySelectorAll(".start strong")].some(s => s.textContent === "B-17")`)

	p.Do(`document.querySelector("details").open = true; document.querySelector("form input").focus()`)
	p.Press("../outside" + kb.Enter)
	p.Until(`document.querySelector("[role=alert]").textContent !== ""`)
}

func quote(s string) string { return `"` + strings.ReplaceAll(s, `\`, `\\`) + `"` }
