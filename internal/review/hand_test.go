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

// What is ticked goes with what is asked for.
func TestAQuickHandoverIsAskedFor(t *testing.T) {
	p := usual(t)
	p.press("Handover")
	p.Do(`const real = window.fetch; window.fetch = (a, o) => String(a).startsWith("/api/make") ? (window.asked = o.body, new Promise(() => {})) : real(a, o)`)
	p.Click(".check")
	p.press("Make the handover")
	p.Until(`window.asked`)
	if got, want := testbrowser.Ask[string](p.Browser, `window.asked`), `{"only":[],"skip":[],"quick":true,"for":""}`; got != want {
		t.Errorf("asked for was %s, want %s", got, want)
	}
}

func TestAQuestionIsAnsweredByAClick(t *testing.T) {
	// 03/04 may be March or April, and nothing else in the log or the sheet tells.
	text := "date,time,distance,what\n03/04/2026,10:00:01,0.4 m,roots\n03/04/2026,10:00:05,4.0 m,crack\n"
	folder := jobFolder(t, "en", text, first)
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
	p := usual(t)
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
	there := jobFolder(t, "en", written, first)
	p := serve(t, job.Ask{})
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
