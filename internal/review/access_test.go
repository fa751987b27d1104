package review_test

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"pushcue/internal/testbrowser"
)

var keep = flag.String("keep", "", "folder to leave pictures of the views in, to be looked at")

// views are the rooms and what else can be open in them.
var views = []struct {
	name string
	open func(p *page)
}{
	{"watch", func(p *page) { p.press(p.word("room-watch")) }},
	{"one", func(p *page) {
		p.choose("r2")
		p.Do(`document.querySelectorAll("details").forEach(d => d.open = true)`)
	}},
	{"lost", func(p *page) { p.press(p.word("back-to-list")); p.choose("r5") }},
	{"pad", func(p *page) { p.press(p.word("back-to-list")); p.press(p.word("write-here")) }},
	{"settle", func(p *page) { p.press(p.word("room-settle")) }},
	{"sheet", func(p *page) {
		p.press(p.word("room-sheet"))
		p.Do(`document.querySelectorAll("details").forEach(d => d.open = true)`)
	}},
	{"handover", func(p *page) { p.press(p.word("room-handover")) }},
}

// word is what the page calls something in the job's language.
func (p *page) word(key string) string {
	return testbrowser.Ask[string](p.Browser, fmt.Sprintf(`fetch("/api/job").then(r => r.json()).then(j => j.words.review[%q])`, key))
}

func TestEveryViewIsAccessible(t *testing.T) {
	for _, look := range []struct {
		language   string
		wide, high int64
		dark       bool
	}{{"en", 1024, 768, false}, {"de", 768, 1024, true}, {"en", 600, 700, false}} {
		p := open(t, job(t, look.language, written, first))
		p.Size(look.wide, look.high)
		p.Dark(look.dark)
		p.frame(t)
		for _, v := range views {
			v.open(p)
			p.Accessible(axe)
			p.fits(t, v.name, look.wide)
			if *keep != "" {
				name := fmt.Sprintf("%s-%s-%d.png", look.language, v.name, look.wide)
				if err := os.WriteFile(filepath.Join(*keep, name), p.Window(), 0o644); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
}

// fits tells whether everything to be touched is at least 44 CSS pixels each way (WCAG
// 2.2, success criterion 2.5.5), and nothing hangs out of the window.
func (p *page) fits(t *testing.T, view string, wide int64) {
	t.Helper()
	small := testbrowser.Ask[[]string](p.Browser, `[...document.querySelectorAll("button, select, input:not(.sr), textarea, summary, .choice, .check")]
		.filter(e => e.checkVisibility() && !(e.matches("input[type=checkbox], input[type=radio]") && e.closest(".check")))
		.filter(e => { const r = e.getBoundingClientRect(); return r.height < 44 || r.width < 44; })
		.map(e => e.outerHTML.slice(0, 90) + " " + Math.round(e.getBoundingClientRect().width) + "x" + Math.round(e.getBoundingClientRect().height))`)
	if len(small) > 0 {
		t.Errorf("%s at %d: too small to touch with cold fingers:\n%s", view, wide, strings.Join(small, "\n"))
	}
	if over := testbrowser.Ask[int](p.Browser, `Math.max(0, ...[...document.querySelectorAll(".head, .foot, .room, .told, .seen")].map(e => e.scrollWidth - e.clientWidth))`); over > 1 {
		t.Errorf("%s at %d: %d pixels hang out at the side", view, wide, over)
	}
	if testbrowser.Ask[bool](p.Browser, `(() => {
		const [seen, told] = [".seen", ".told"].map((q) => document.querySelector(q)?.getBoundingClientRect());
		return !!seen && Math.min(seen.right, told.right) - Math.max(seen.left, told.left) > 1 && Math.min(seen.bottom, told.bottom) - Math.max(seen.top, told.top) > 1;
	})()`) {
		t.Errorf("%s at %d: what was observed lies over the picture or its buttons", view, wide)
	}
}

// A job is looked over and put right without a mouse: every step by keys alone.
func TestAJobIsPutRightByKeyboardAlone(t *testing.T) {
	p := open(t, job(t, "en", written, first))
	p.frame(t)
	reach := func(want string) {
		t.Helper()
		for range 120 {
			if testbrowser.Ask[bool](p.Browser, fmt.Sprintf(`document.activeElement.matches("button, input, select, textarea, summary, a") && (document.activeElement.textContent + "|" + (document.activeElement.getAttribute("aria-label") || "") + "|" + ((document.activeElement.labels || [])[0] || {textContent: ""}).textContent).includes(%q)`, want)) {
				return
			}
			p.Press(kb.Tab)
		}
		t.Fatalf("%q can't be reached with the Tab key", want)
	}
	reach("2 roots")
	p.Press(kb.Enter)
	p.Until(`document.querySelector(".detail h2") === document.activeElement`)
	before := p.row(t, 2).Video
	p.Press(strings.Repeat(kb.ArrowRight, 3))
	p.frame(t)
	reach("move only this one")
	p.saved(func() { p.Press(kb.Enter) })
	if now := p.row(t, 2).Video; now-before < 0.11 || now-before > 0.13 {
		t.Errorf("row 2 moved by %v s, want three frames", now-before)
	}
	reach("repair") // the urgencies are one stop for Tab; arrows choose
	if o := p.row(t, 2); *o.Urgency == "repair" {
		p.saved(func() { p.Press(kb.ArrowRight) })
	}
	if o := p.row(t, 2); *o.Urgency != "at once" {
		t.Errorf("the urgency is %s", *o.Urgency)
	}
	reach("Note")
	p.saved(func() { p.PressWith("a", chromedp.ModifierCtrl); p.Press("checked"); p.Press(kb.Tab) })
	p.Press(kb.Escape)
	p.Until(`document.activeElement.dataset.key === "r2"`) // back in the list, on the one that was open
	p.saved(func() { p.PressWith("z", chromedp.ModifierCtrl) })
	if o := p.row(t, 2); strings.Contains(*o.Note, "checked") {
		t.Error("Ctrl+Z didn't undo")
	}
	reach("To settle")
	p.Press(kb.Enter)
	p.Until(`document.activeElement.matches(".page h2")`)
	reach("Find it in the recording")
	p.Press(kb.Enter)
	p.Until(`document.querySelector(".detail h2").textContent.includes("grease")`)
}

// nasty is text that would act as code if it were put anywhere as it is.
var nasty = []string{
	`<script>document.title="run"</script>`, `"><img src=x onerror="document.title='run'">`, `</script><b>bold</b>`, `${document.title="run"} {what}`,
	`&lt;already&gt; & <`, `'; DROP`, `javascript:document.title="run"`, "\u202eright to left\u202c", "😀 emoji", `-->`, strings.Repeat("long ", 2000),
}

func TestTextFromALogStaysText(t *testing.T) {
	text := "time,distance,what,note\n"
	for i, s := range nasty {
		cell := `"` + strings.ReplaceAll(s, `"`, `""`) + `"`
		text += fmt.Sprintf("10:00:%02d,%d m,%s,%s\n", i+1, i+1, cell, cell)
	}
	text += `,,"<img src=y onerror=alert(1)>",lost` + "\n"
	p := open(t, job(t, "en", text, first))
	p.frame(t)
	elements := func() int {
		return testbrowser.Ask[int](p.Browser, `document.querySelectorAll("#app script, #app b, #app img:not(.item img):not(.chosen-still):not(.sheet)").length`)
	}
	for i := range nasty {
		p.choose(fmt.Sprintf("r%d", i+1))
		if got := testbrowser.Ask[string](p.Browser, `document.querySelector(".detail textarea").value`); got != nasty[i] && len(nasty[i]) < 1000 {
			t.Errorf("the note %q stands there as %q", nasty[i], got)
		}
		if n := elements(); n > 0 {
			t.Fatalf("%q made %d elements", nasty[i], n)
		}
		p.press("All observations")
	}
	for _, room := range []string{"To settle", "Job sheet", "Handover"} {
		p.press(room)
		if n := elements(); n > 0 {
			t.Errorf("%s holds %d elements made of text", room, n)
		}
	}
	if title := testbrowser.Ask[string](p.Browser, `document.title`); title == "run" {
		t.Error("text from the log ran")
	}
}

func TestThePageAsksOnlyItsOwnProgram(t *testing.T) {
	p := open(t, job(t, "en", written, first))
	p.frame(t)
	origin := p.address[:strings.Index(p.address, "/?")]
	for _, asked := range p.Requests() {
		if !strings.HasPrefix(asked, origin+"/") {
			t.Errorf("the page asked %s", asked)
		}
	}
}
