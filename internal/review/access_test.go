package review_test

import (
	"flag"
	"fmt"
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
func (p *page) word(key string) string { return p.state().Words.Review[key] }

// Each view is looked at wide and light, upright and dark, and narrow: the checker's other
// rules than that of contrast see the same in all three. Longer words need more room.
func TestEveryViewIsAccessible(t *testing.T) {
	look := func(p *page, view, language string, wide, high int64, dark bool) {
		p.Size(wide, high)
		p.Dark(dark)
		p.fits(t, view, wide)
		if *keep != "" {
			put(t, filepath.Join(*keep, fmt.Sprintf("%s-%s-%d.png", language, view, wide)), string(p.Window()))
		}
	}
	p := usual(t)
	p.frame(t)
	for _, v := range views {
		v.open(p)
		look(p, v.name, "en", 1024, 768, false)
		p.Accessible(axe)
		look(p, v.name, "en", 768, 1024, true)
		p.Accessible(axe, "color-contrast")
		look(p, v.name, "en", 600, 700, false)
	}
	p.saved(func() { p.post(t, "/api/edit", `{"what":"sheet","values":{"job.language":"de"}}`) })
	p.Until(`document.body.dataset.ready === "true" && document.documentElement.lang === "de"`)
	p.frame(t)
	for _, v := range views {
		v.open(p)
		look(p, v.name, "de", 1024, 768, false)
		look(p, v.name, "de", 600, 700, false)
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
	p := usual(t)
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
		text += fmt.Sprintf("10:00:01,%d m,%s,%s\n", i+1, cell, cell)
	}
	text += `,,"<img src=y onerror=alert(1)>",lost` + "\n"
	p := open(t, jobFolder(t, "en", text, first))
	p.frame(t)
	elements := func() int {
		return testbrowser.Ask[int](p.Browser, `document.querySelectorAll("#app script, #app b, #app img:not(.item img):not(.chosen-still):not(.sheet):not(.logo)").length`)
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
