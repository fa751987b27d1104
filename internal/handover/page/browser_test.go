package page

import (
	"flag"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pushcue/internal/handover/account"
	"pushcue/internal/soak"
	"pushcue/internal/testbrowser"
	"pushcue/internal/testfootage"
	"pushcue/subtitles"
	"pushcue/timeline/timecode"
)

const axe = "../../../testdata/node/node_modules/axe-core/axe.min.js"

// All tests share one browser.
func TestMain(m *testing.M) {
	flag.Parse()
	os.Exit(testbrowser.Shared(m))
}

// standing has the player stay on the moment that it was sent to while it plays, so
// that what is read there doesn't depend on when it is read.
const standing = `const v = document.querySelector("video"); v.defaultPlaybackRate = v.playbackRate = 0;`

// The page is opened from its folder, as from a thumb drive; each observation is
// clicked, and the player's time, the note shown and the frame on the screen read.
func TestObservationPlaysFromItsFrameWithItsNote(t *testing.T) {
	b := open(t)
	for i, o := range sample(t).Timeline.Observations {
		if o.Video.Seconds() >= 20 { // the footage is shorter than the sample
			continue
		}
		b.Do(`const v = document.querySelector("video");
			document.querySelectorAll(".watch")[` + itoa(i) + `].click();
			v.pause();
			if (v.seeking || v.readyState < 2) await new Promise(r => v.addEventListener("seeked", r, {once: true}));`)
		at := testbrowser.Ask[float64](b, `document.querySelector("video").currentTime`)
		if want := o.Video.Seconds(); at < want-0.001 || at > want+0.5 {
			t.Errorf("observation %d is at %.2f s, the player went to %.2f s", o.Number, want, at)
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

func TestChartIsUsedByKeyboard(t *testing.T) {
	b := open(t)
	b.Do(`const v = document.querySelector("video");
		if (v.readyState < 1) await new Promise(r => v.addEventListener("loadedmetadata", r, {once: true}));
		document.querySelector(".chart svg").focus();`)
	for key, want := range map[string]float64{"PageUp": 10, "ArrowRight": 1, "ArrowLeft": 0, "Home": 0} {
		b.Do(`document.querySelector("video").currentTime = 0;
			document.activeElement.dispatchEvent(new KeyboardEvent("keydown", {key: "` + key + `", bubbles: true}))`)
		if at := testbrowser.Ask[float64](b, `document.querySelector("video").currentTime`); at != want {
			t.Errorf("the player went to %.2f s, not to %.0f s", at, want)
		}
	}
	b.Do(`const v = document.querySelector("video"); v.currentTime = 12.5; await new Promise(r => v.addEventListener("timeupdate", r, {once: true}))`)
	if got := testbrowser.Ask[string](b, `document.querySelector(".chart svg").getAttribute("aria-valuetext")`); got != "0:12" {
		t.Errorf("12.5 s is told as %q", got)
	}
}

// Tab and Enter alone lead past the head to an observation and start it.
func TestKeyboardLeadsToAnObservation(t *testing.T) {
	b := open(t)
	b.Press("\t")
	if got := testbrowser.Ask[string](b, "document.activeElement.className"); got != "skip" {
		t.Errorf("Tab leads to %q first", got)
	}
	b.Do(`document.querySelectorAll("a.still")[1].focus()`)
	for range 10 {
		b.Press("\t")
		if testbrowser.Ask[bool](b, `document.activeElement.matches(".watch")`) {
			break
		}
	}
	b.Do(standing)
	b.Press("\r")
	b.Until(`!document.querySelector("video").paused && !document.querySelector("video").seeking && document.querySelector("video").currentTime > 1`)
	want := sample(t).Timeline.Observations[1].Video.Seconds()
	if at := testbrowser.Ask[float64](b, `document.querySelector("video").currentTime`); at < want-0.1 || at > want+0.1 {
		t.Errorf("the player is at %.2f s", at)
	}
	if !testbrowser.Ask[bool](b, `document.activeElement.matches("video")`) {
		t.Error("the keyboard didn't follow to the player")
	}
}

// A recording split into several videos is one to whoever watches.
func TestPlayerGoesOnInTheNextFilm(t *testing.T) {
	cue := func(text string) []subtitles.Cue {
		return []subtitles.Cue{{From: timecode.VideoSeconds(3), To: timecode.VideoSeconds(9), Lines: []string{text}}}
	}
	b := openText(t, writeFilms(t, "en", sample(t), Film{File: "video/2291-B.mp4", Cues: cue("first")}, Film{File: "video/2291-B_2.mp4", From: 10, Cues: cue("second")}))
	b.Do(standing + `document.querySelectorAll(".watch")[1].click();
		await new Promise(r => v.addEventListener("seeked", r, {once: true}));`)
	if got := testbrowser.Ask[string](b, `document.querySelector("video").src.split("/").pop()`); got != "2291-B_2.mp4" {
		t.Errorf("14 s is looked for in %s", got)
	}
	if at := testbrowser.Ask[float64](b, `document.querySelector("video").currentTime`); at < 3.9 || at > 4.1 {
		t.Errorf("14 s of the recording is taken for %.2f s of its second film", at)
	}
	if got := testbrowser.Ask[string](b, `Array.from(document.querySelector("video").textTracks[0].cues).map(c => c.text).join()`); got != "second" {
		t.Errorf("the notes are those of the film %q", got)
	}
}

// axe looks at the page at a phone's, a tablet's and a desk's width, in light and dark
// and as printed, with a picture open, and without film or observations. The short run
// looks at each width and each colouring once; a soak at every pair of them.
func TestPageIsAccessible(t *testing.T) {
	bare := sample(t)
	bare.Made, bare.Timeline.Observations, bare.Timeline.Unplaced = account.Made{}, nil, nil
	for name, c := range map[string]struct {
		html  string
		looks map[int64]string // colours by width
	}{
		"whole":                  {writePage(t, "en", sample(t)), map[int64]string{390: "light", 1280: "dark"}},
		"nothing found, no film": {writeFilms(t, "de", bare), map[int64]string{390: "dark", 768: "light"}},
	} {
		t.Run(name, func(t *testing.T) {
			b := openText(t, c.html)
			for _, width := range []int64{390, 768, 1280} {
				b.Size(width, 900)
				for _, colours := range []string{"light", "dark"} {
					if c.looks[width] == colours || soak.On() {
						b.Media("screen", colours)
						b.Accessible(axe)
					}
				}
				if wide := testbrowser.Ask[int64](b, "document.documentElement.scrollWidth"); wide > width {
					t.Errorf("at %d pixels the page is %d wide", width, wide)
				}
			}
			pictured := testbrowser.Ask[bool](b, `document.querySelector("a.still") !== null`)
			if pictured || soak.On() {
				b.Media("print", "light")
				b.Accessible(axe)
			}
			if pictured {
				b.Media("screen", "dark")
				b.Do(`document.querySelector("a.still").click()`)
				b.Accessible(axe)
			}
		})
	}
}

func TestSpokenNotesPlay(t *testing.T) {
	b := open(t)
	for i, name := range []string{"02_x.m4a", "memo%20%231%2050%25.m4a"} {
		b.Do(`const a = document.querySelectorAll("audio")[` + itoa(i) + `]; a.play(); await new Promise((r, f) => { a.addEventListener("timeupdate", () => a.currentTime > 0 && r()); a.addEventListener("error", f) });`)
		if src := testbrowser.Ask[string](b, `document.querySelectorAll("audio")[`+itoa(i)+`].currentSrc`); !strings.HasSuffix(src, "/spoken/"+name) {
			t.Errorf("it plays %s", src)
		}
	}
}

func TestNoRequestLeavesTheFolder(t *testing.T) {
	b := open(t)
	folder := testbrowser.Ask[string](b, `location.href.replace(/[^/]*$/, "")`)
	b.Do(`document.querySelectorAll(".watch")[1].click(); document.querySelector("a.still").click(); document.querySelector("article audio").load()`)
	b.Until(`document.querySelector("dialog img").complete && document.querySelector("video").readyState > 0`)
	asked := b.Requests()
	for _, address := range asked {
		if !strings.HasPrefix(address, folder) && !strings.HasPrefix(address, "data:") {
			t.Errorf("the page asked for %s", address)
		}
	}
	for _, own := range []string{"index.html", "stills/01_x.jpg", "video/2291-B.mp4"} {
		if !slices.Contains(asked, folder+own) {
			t.Errorf("%s isn't among what was asked for: %q", own, asked)
		}
	}
}

func TestNastyTextRunsNothing(t *testing.T) {
	p := sample(t)
	for i := range p.Timeline.Observations {
		entry := p.Timeline.Observations[i].Entry
		entry.Note, entry.What.Text = nasty[i], nasty[len(nasty)-1-i]
	}
	b := openText(t, writePage(t, "en", p))
	if title := testbrowser.Ask[string](b, "document.title"); title == "run" {
		t.Error("a remark ran as a script")
	}
	for i := range p.Timeline.Observations {
		got := testbrowser.Ask[string](b, `document.querySelectorAll("article")[`+itoa(i)+`].querySelector(".note bdi").textContent`)
		if got != nasty[i] {
			t.Errorf("remark %q is shown as %q", nasty[i], got)
		}
	}
}

func open(t *testing.T) *testbrowser.Browser {
	t.Helper()
	return openText(t, writePage(t, "en", sample(t)))
}

// openText lays the page beside a film and pictures and opens it.
func openText(t *testing.T, html string) *testbrowser.Browser {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "hand over #1 50%")
	film := testfootage.Numbered(t, testfootage.Spec{Frames: 100, Rate: timecode.Rate{Num: 5, Den: 1}, Width: 160, Height: 120, Audio: true})
	bytes, err := os.ReadFile(film)
	must(t, err)
	for name, content := range map[string][]byte{"index.html": []byte(html), "video/2291-B.mp4": bytes, "video/2291-B_2.mp4": bytes, "spoken/02_x.m4a": bytes, "spoken/memo #1 50%.m4a": bytes, "stills/01_x.jpg": {}, "stills/thumbs/01_x.jpg": {}} {
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
