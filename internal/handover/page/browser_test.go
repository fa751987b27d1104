package page

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pushcue/internal/testbrowser"
	"pushcue/internal/testfootage"
	"pushcue/timeline/timecode"
)

const axe = "../../../testdata/node/node_modules/axe-core/axe.min.js"

// The page is opened from its folder, as from a thumb drive; each observation is
// clicked, and the player's time, the note shown and the frame on the screen read.
func TestObservationPlaysFromItsFrameWithItsNote(t *testing.T) {
	b := open(t)
	for i, o := range sample().Observations {
		if o.Video >= 20 { // the footage is shorter than the sample
			continue
		}
		b.Do(`const v = document.querySelector("video");
			document.querySelectorAll(".watch")[` + itoa(i) + `].click();
			v.pause();
			if (v.seeking || v.readyState < 2) await new Promise(r => v.addEventListener("seeked", r, {once: true}));`)
		at := testbrowser.Ask[float64](b, `document.querySelector("video").currentTime`)
		if at < o.Video-0.001 || at > o.Video+0.5 {
			t.Errorf("observation %d is at %.2f s, the player went to %.2f s", o.Number, o.Video, at)
		}
	}
	b.Do(`const v = document.querySelector("video"); v.pause(); v.currentTime = 3;
		await new Promise(r => v.textTracks[0].addEventListener("cuechange", r, {once: true}))`)
	if got := testbrowser.Ask[string](b, `document.querySelector(".now output").textContent`); got != "1 roots <b>& more" {
		t.Errorf("the note shown is %q", got)
	}
	if got := testbrowser.Ask[string](b, `document.querySelector("video").textTracks[0].activeCues[0].getCueAsHTML().textContent`); got != "1 roots <b>& more" {
		t.Errorf("the note on the picture is %q", got)
	}
}

func TestChartGoesToTheMomentClicked(t *testing.T) {
	b := open(t)
	b.Do(`const c = document.querySelector(".chart svg"), r = c.getBoundingClientRect(), v = document.querySelector("video");
		if (v.readyState < 1) await new Promise(r => v.addEventListener("loadedmetadata", r, {once: true}));
		const x = 64 + 0.1 * (988 - 64);
		c.dispatchEvent(new MouseEvent("click", {bubbles: true, clientX: r.left + x / 1000 * r.width, clientY: r.top + 50}));`)
	if at := testbrowser.Ask[float64](b, `document.querySelector("video").currentTime`); at < 9.5 || at > 9.7 {
		t.Errorf("a tenth of 96 s was clicked, the player went to %.2f s", at)
	}
}

func TestStillOpensLarge(t *testing.T) {
	b := open(t)
	b.Do(`document.querySelector("a.still").click()`)
	if !testbrowser.Ask[bool](b, `document.querySelector("dialog").open && document.querySelector("dialog img").src.endsWith("stills/01_x.jpg")`) {
		t.Error("the still didn't open")
	}
}

// axe looks at the page at a desk's and at a phone's width, in light and dark.
func TestPageIsAccessible(t *testing.T) {
	b := open(t)
	for _, width := range []int64{1200, 390} {
		b.Size(width, 900)
		b.Accessible(axe)
		if wide := testbrowser.Ask[int64](b, "document.documentElement.scrollWidth"); wide > width {
			t.Errorf("at %d pixels the page is %d wide", width, wide)
		}
	}
}

func TestNoRequestLeavesTheFolder(t *testing.T) {
	b := open(t)
	folder := testbrowser.Ask[string](b, `location.href.replace(/[^/]*$/, "")`)
	for _, asked := range b.Requests() {
		if !strings.HasPrefix(asked, folder) && !strings.HasPrefix(asked, "data:") {
			t.Errorf("the page asked for %s", asked)
		}
	}
}

func TestNastyTextRunsNothing(t *testing.T) {
	d := sample()
	for i := range d.Observations {
		d.Observations[i].Note, d.Observations[i].What = &nasty[i], &nasty[len(nasty)-1-i]
	}
	b := openText(t, writeDocument(t, "en", d))
	if title := testbrowser.Ask[string](b, "document.title"); title == "run" {
		t.Error("a remark ran as a script")
	}
	for i := range d.Observations {
		got := testbrowser.Ask[string](b, `document.querySelectorAll("article")[`+itoa(i)+`].querySelector(".note bdi").textContent`)
		if got != nasty[i] {
			t.Errorf("remark %q is shown as %q", nasty[i], got)
		}
	}
}

func open(t *testing.T) *testbrowser.Browser {
	t.Helper()
	return openText(t, writeDocument(t, "en", sample()))
}

// openText lays the page beside a film and pictures and opens it.
func openText(t *testing.T, html string) *testbrowser.Browser {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "hand over #1 50%")
	film := testfootage.Numbered(t, testfootage.Spec{Frames: 500, Rate: timecode.Rate{Num: 25, Den: 1}, Audio: true})
	bytes, err := os.ReadFile(film)
	must(t, err)
	for name, content := range map[string][]byte{"index.html": []byte(html), "video/2291-B.mp4": bytes, "stills/01_x.jpg": {}, "stills/thumbs/01_x.jpg": {}} {
		file := filepath.Join(dir, filepath.FromSlash(name))
		must(t, os.MkdirAll(filepath.Dir(file), 0o755))
		must(t, os.WriteFile(file, content, 0o644))
	}
	return testbrowser.Open(t, filepath.Join(dir, "index.html"))
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
