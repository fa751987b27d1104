package review_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"pushcue/internal/testbrowser"
)

// moments is where each row stands now.
func (p *page) moments() map[int]float64 {
	at := map[int]float64{}
	for _, o := range p.state().Timeline.Observations {
		at[o.Row] = o.Video
	}
	return at
}

// timeline is the whole of it, as it would be written.
func (p *page) timeline() string {
	return testbrowser.Ask[string](p.Browser, `fetch("/api/job").then(r => r.json()).then(j => JSON.stringify(j.timeline))`)
}

// seek goes to a frame by the slider.
func (p *page) seek(n int) {
	p.Do(fmt.Sprintf(`const s = document.querySelector("input[type=range]"); s.value = %d; s.dispatchEvent(new Event("input"))`, n))
	p.Until(fmt.Sprintf(`document.querySelector("canvas").dataset.frame === "%d"`, n))
}

func TestAnAnchorMovesTheOthers(t *testing.T) {
	p := usual(t)
	before := p.moments()
	p.choose("r2")
	want := int(math.Round(before[2]/0.04)) + 40 // 1.6 s later
	p.seek(want)
	p.saved(func() { p.press("Seen in this picture: move all") })
	after := p.moments()
	if got := after[2]; math.Abs(got-float64(want)*0.04) > 1e-6 {
		t.Errorf("row 2 stands at %v s, its frame is at %v s", got, float64(want)*0.04)
	}
	for _, row := range []int{1, 3, 4} {
		if moved := after[row] - before[row]; math.Abs(moved-1.6) > 0.08 {
			t.Errorf("row %d moved by %.2f s, want 1.6 s as row 2", row, moved)
		}
	}
	p.Until(`document.querySelector(".did [role=status]").textContent.includes("Moved with it")`)
	// The list and the sentence say where it is now.
	p.Until(fmt.Sprintf(`document.querySelector(".detail section p").textContent.includes("0:%06.3f")`, after[2]))
}

func TestJustOneRowMoves(t *testing.T) {
	p := usual(t)
	before := p.moments()
	p.choose("r2")
	p.seek(300)
	p.saved(func() { p.press("Seen in this picture: move only") })
	after := p.moments()
	if math.Abs(after[2]-12) > 1e-6 {
		t.Errorf("row 2 stands at %v s, want 12 s", after[2])
	}
	for _, row := range []int{1, 3, 4} {
		if after[row] != before[row] {
			t.Errorf("row %d moved from %v to %v s", row, before[row], after[row])
		}
	}
}

func TestEverythingThatWasWrittenCanBePutRight(t *testing.T) {
	p := usual(t)
	whole := p.timeline()
	log, err := os.ReadFile(filepath.Join(p.folder, "log.csv"))
	if err != nil {
		t.Fatal(err)
	}
	p.choose("r2")
	steps := 0
	saved := func(do func()) {
		t.Helper()
		p.saved(do)
		steps++
	}
	write := func(field, text string) {
		t.Helper()
		saved(func() {
			p.Click(fmt.Sprintf(`.detail [data-field=%s]`, field))
			p.PressWith("a", chromedp.ModifierCtrl)
			p.Press(text + kb.Tab)
		})
	}

	// Typed ahead: "open j" is enough for the built-in kind.
	saved(func() {
		p.Click(".detail [role=combobox]")
		p.PressWith("a", chromedp.ModifierCtrl)
		p.Press("open j")
		p.Until(`document.querySelectorAll(".detail [role=option]").length === 1`)
		p.Press(kb.ArrowDown + kb.Enter)
	})
	write("distance", "2.6 m")
	write("to", "3.1 m")
	write("note", "gap of 20 mm")
	saved(func() { p.Click(".detail .choice:nth-child(4)") })
	o := p.row(t, 2)
	if o.What == nil || *o.What != "open joint" || *o.Distance != 2.6 || o.DistanceTo == nil || *o.DistanceTo != 3.1 || *o.Note != "gap of 20 mm" || *o.Urgency != "at once" {
		t.Errorf("row 2 is now %+v", o)
	}

	// The dial: a tap at 3, a stroke over the top, then the lists.
	saved(func() { p.ClickAt(".detail .dial-face", 0.5+0.3, 0.5) })
	if o = p.row(t, 2); *o.ClockFrom != 3 || *o.ClockTo != 3 {
		t.Errorf("a tap at 3 o'clock says %v to %v", *o.ClockFrom, *o.ClockTo)
	}
	saved(func() {
		p.Stroke(".detail .dial-face", [2]float64{0.2, 0.5}, [2]float64{0.29, 0.29}, [2]float64{0.5, 0.2}, [2]float64{0.71, 0.29}, [2]float64{0.8, 0.5})
	})
	if o = p.row(t, 2); *o.ClockFrom != 9 || *o.ClockTo != 3 {
		t.Errorf("a stroke from 9 over the top to 3 says %v to %v", *o.ClockFrom, *o.ClockTo)
	}
	saved(func() {
		p.Do(`const s = document.querySelector(".detail [data-key=dial-from]"); s.value = "6.5"; s.dispatchEvent(new Event("change"))`)
	})
	if o = p.row(t, 2); *o.ClockFrom != 6.5 || *o.ClockTo != 3 {
		t.Errorf("the list says %v to %v", *o.ClockFrom, *o.ClockTo)
	}

	// Picture and excerpt.
	p.seek(200)
	saved(func() { p.press("Take the picture shown") })
	p.seek(60)
	saved(func() { p.press("Starts at the picture shown") })
	p.seek(250)
	saved(func() { p.press("Ends at the picture shown") })
	o = p.row(t, 2)
	if o.StillTime == nil || math.Abs(*o.StillTime-8) > 1e-6 || o.ClipFrom == nil || math.Abs(*o.ClipFrom-2.4) > 1e-6 || math.Abs(*o.ClipTo-10) > 0.041 {
		t.Errorf("still at %v, excerpt from %v to %v", show(o.StillTime), show(o.ClipFrom), show(o.ClipTo))
	}

	// Away, and back.
	saved(func() { p.press("Set aside") })
	for _, o := range p.state().Timeline.Observations {
		if o.Row == 2 {
			t.Error("row 2 was set aside and is still placed")
		}
	}
	saved(func() { p.press("Bring back") })
	p.row(t, 2)

	// The log's own word again.
	p.Until(`[...document.querySelectorAll(".detail .soft button")].length > 0`)
	saved(func() { p.Click(".detail .soft button") })

	for range steps {
		saved(func() { p.press("Undo") })
	}
	if now := p.timeline(); now != whole {
		t.Errorf("undone to the start, the timeline isn't what it was:\n%s\n%s", whole, now)
	}
	if !testbrowser.Ask[bool](p.Browser, `[...document.querySelectorAll(".foot button")].find(b => b.textContent === "Undo").disabled`) {
		t.Error("there is still something to undo")
	}
	p.saved(func() { p.press("Redo") })
	if o := p.row(t, 2); *o.What != "open joint" {
		t.Errorf("done again, row 2 is %s", *o.What)
	}
	if now, err := os.ReadFile(filepath.Join(p.folder, "log.csv")); err != nil || string(now) != string(log) {
		t.Errorf("the log was changed (%v)", err)
	}
}

func show(v *float64) string {
	if v == nil {
		return "none"
	}
	return fmt.Sprint(*v)
}

func TestTheJobSheetIsPutRight(t *testing.T) {
	p := usual(t)
	p.press("Job sheet")
	type f struct{ label, value string }
	for _, f := range []f{{"Counter with the head at the start of the line (m)", "0.4 m"}, {"Material", "clay"}, {"Why", "slow drain"}} {
		p.saved(func() {
			p.Do(fmt.Sprintf(`const l = [...document.querySelectorAll(".page label")].find(l => l.textContent === %q); const i = document.getElementById(l.htmlFor); i.closest("details").open = true; i.focus(); i.select()`, f.label))
			p.Press(f.value + kb.Tab)
		})
	}
	p.saved(func() {
		p.Do(`const l = [...document.querySelectorAll(".page label")].find(l => l.textContent === "The counter showed (m)"); document.getElementById(l.htmlFor).focus()`)
		p.Press("9.0 m" + kb.Tab + "8.9 m")
		p.press("Add this length")
	})
	// 2.1 m less 0.4 m, stretched as 8.6 m of counter are 8.9 m of tape.
	if o := p.row(t, 2); math.Abs(*o.Distance-1.7*8.9/8.6) > 0.001 {
		t.Errorf("with zero at 0.4 m and the tape row 2 is at %v m", *o.Distance)
	}
	told := testbrowser.Ask[string](p.Browser, `fetch("/api/job").then(r => r.json()).then(j => j.timeline.job.line.material + "/" + j.timeline.job.reason)`)
	if told != "clay/slow drain" {
		t.Errorf("the job says %s", told)
	}
	// What the customer sees starts at the picture shown in the other room.
	p.press("Watch")
	p.seek(25)
	p.press("Job sheet")
	p.saved(func() {
		p.Do(`document.querySelectorAll(".page details").forEach(d => d.open = true)`)
		p.press("Starts at the picture shown")
	})
	if from := testbrowser.Ask[float64](p.Browser, `fetch("/api/job").then(r => r.json()).then(j => j.recording.show_from_s)`); math.Abs(from-1) > 1e-6 {
		t.Errorf("shown from %v s, want 1 s", from)
	}
	sheet, err := os.ReadFile(filepath.Join(p.folder, "job.toml"))
	if err != nil || strings.Contains(string(sheet), "clay") {
		t.Errorf("job.toml was written (%v)", err)
	}
}

func TestTwoPagesShowTheSame(t *testing.T) {
	p := usual(t)
	other := &page{p.Beside(p.address), t, p.served}
	other.ready()
	p.choose("r4")
	p.saved(func() { p.Click(".detail .choice:nth-child(3)") })
	other.Until(`[...document.querySelectorAll(".item")].find(i => i.dataset.key === "r4").textContent.includes("repair")`)
	other.saved(func() { other.press("Undo") })
	p.Until(`document.querySelector(".detail .choice:nth-child(2) input").checked`)
}

func TestWhatCannotBeIsRefusedAndWhatCannotBeSavedIsKept(t *testing.T) {
	p := usual(t)
	p.choose("r2")
	p.Click(".detail [data-field=distance]")
	p.PressWith("a", chromedp.ModifierCtrl)
	p.Press("twelve and a bit" + kb.Tab)
	p.Until(`(f => f.value === "twelve and a bit" && f.parentNode.querySelector("[role=alert]").textContent.includes("isn't a length"))(document.querySelector(".detail [data-field=distance]"))`)
	if p.state().Undo != nil {
		t.Error("a distance that is none was taken")
	}

	// The program can't be reached: loud, kept, and saved at the next try.
	p.Do(`window.real = window.fetch; window.fetch = (a, o) => o && o.method === "POST" ? Promise.reject(new TypeError("gone")) : real(a, o)`)
	p.Click(".detail .choice:nth-child(4)")
	p.Until(`!document.querySelector(".unsaved").hidden && document.querySelector(".unsaved").textContent.includes("Not saved: 1")`)
	p.Do(`window.fetch = window.real`)
	p.saved(func() { p.press("Try again") })
	if o := p.row(t, 2); *o.Urgency != "at once" {
		t.Errorf("tried again, the urgency is %s", *o.Urgency)
	}
}

func TestWhatIsBeingTypedIsKeptWhenThePageGoes(t *testing.T) {
	p := usual(t)
	p.choose("r2")
	p.Click(".detail textarea")
	p.PressWith("a", chromedp.ModifierCtrl)
	p.Press("half a sentence")
	if p.state().Undo != nil {
		t.Fatal("it was saved before it was left: this test shows nothing")
	}
	p.Go("about:blank")
	p.Go(p.address)
	p.ready()
	p.Until(`fetch("/api/job").then(r => r.json()).then(j => j.undo !== null)`)
	if o := p.row(t, 2); o.Note == nil || *o.Note != "half a sentence" {
		t.Errorf("the note is %v", o.Note)
	}
	// Taken back and brought back on a page that wasn't there when it was typed.
	p.saved(func() { p.press("Undo") })
	p.Go(p.address)
	p.ready()
	p.saved(func() { p.press("Redo") })
	if o := p.row(t, 2); *o.Note != "half a sentence" {
		t.Errorf("brought back, the note is %q", *o.Note)
	}
}
