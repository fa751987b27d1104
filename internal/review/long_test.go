package review_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"pushcue/internal/soak"
	"pushcue/internal/testbrowser"
	"pushcue/internal/testfootage"
)

// figures are what it takes to look a long job over, in seconds, and what the page holds.
type figures struct {
	cold, sight, seek, seekSlow, step, placed, seen time.Duration
	megabytes                                       float64
}

// lookOver looks over a push of so many frames with 400 rows, and tells what that took.
func lookOver(t testing.TB, frames int) (f figures) {
	t.Helper()
	long := testfootage.Spec{Frames: frames, GOP: 250, BFrames: 2, Crf: 35}
	var text strings.Builder
	text.WriteString("time,distance,what,urgency,note\n")
	for i := range 400 {
		at := time.Date(2026, 4, 14, 10, 0, 0, 0, time.UTC).Add(time.Duration(10+i*frames/10_600) * time.Second)
		fmt.Fprintf(&text, "%s,%.1f m,roots,watch,row %d\n", at.Format("15:04:05"), 0.5+0.1*float64(i), i+1)
	}
	folder := jobFolder(t, "en", text.String(), long)

	began := time.Now()
	p := open(t, folder)
	p.frame(t)
	f.cold = time.Since(began)
	// Again, as at the second opening: the recording has been looked through.
	began = time.Now()
	second := &page{p.Beside(p.address), t, p.served}
	second.Until(`document.body.dataset.ready === "true" && document.querySelectorAll(".item").length === 400 && document.querySelector("canvas").dataset.frame === "0"`)
	f.sight = time.Since(began)

	var seeks []time.Duration
	for i := range 40 {
		began := time.Now()
		p.seek((i*48_611 + 997) % frames)
		seeks = append(seeks, time.Since(began))
		if carried, named := p.frame(t); carried != named {
			t.Errorf("the picture carries %d and is named %d", carried, named)
		}
	}
	slices.Sort(seeks)
	f.seek, f.seekSlow = seeks[20], seeks[36]
	var steps []time.Duration
	for range 40 {
		n := testbrowser.Ask[int](p.Browser, `Number(document.querySelector("input[type=range]").value)`)
		began := time.Now()
		p.Do(`document.querySelector(".steps button:nth-child(5)").click()`)
		p.Until(fmt.Sprintf(`document.querySelector("canvas").dataset.frame === "%d"`, n+1))
		steps = append(steps, time.Since(began))
	}
	slices.Sort(steps)
	f.step = steps[20]

	heap := func() float64 { return testbrowser.Ask[float64](p.Browser, `performance.memory.usedJSHeapSize`) / 1e6 }
	f.megabytes = heap()
	p.choose("r200")
	before := testbrowser.Ask[int](p.Browser, knows(`m.job.revision`))
	// From the touch to the picture in which the page tells that it is saved.
	f.seen = time.Duration(1e6 * testbrowser.Ask[float64](p.Browser, `new Promise(done => {
		const began = performance.now(), seen = new MutationObserver(() => { seen.disconnect(); requestAnimationFrame(() => setTimeout(() => done(performance.now() - began))); });
		seen.observe(document.querySelector(".foot [role=status]"), {childList: true, characterData: true, subtree: true});
		document.querySelector(".detail .choice:nth-child(3)").click();
	})`))
	p.Until(knows(fmt.Sprintf(`m.job.revision > %d`, before)))
	// The program answers when it has placed all rows anew.
	f.placed = time.Duration(1e6 * testbrowser.Ask[float64](p.Browser, `performance.getEntriesByType("resource").filter(e => e.name.includes("/api/edit")).at(-1).duration`))
	if o := p.row(t, 200); *o.Urgency != "repair" {
		t.Errorf("corrected, the urgency of row 200 is %s", *o.Urgency)
	}
	for i := range 60 {
		p.seek(i * frames / 62)
	}
	f.megabytes = math.Max(f.megabytes, heap())
	return f
}

// The page's memory doesn't grow with what was looked at in a push of two hours (20
// minutes at the least) with 400 rows. How quick it is scripts/bench measures.
func TestALongJobIsLookedOver(t *testing.T) {
	if !soak.On() {
		t.Skip("set PUSHCUE_SOAK=1: it makes two hours of footage")
	}
	if f := lookOver(t, soak.Count(30_000, 180_000)); f.megabytes > 200 {
		t.Errorf("the page holds %.0f MB", f.megabytes)
	}
}

// BenchmarkALongJob measures two hours with 400 rows; scripts/bench review runs it.
func BenchmarkALongJob(b *testing.B) {
	for b.Loop() {
		f := lookOver(b, 180_000)
		for name, took := range map[string]time.Duration{
			"cold-s": f.cold, "sight-s": f.sight, "seek-s": f.seek, "seek-slow-s": f.seekSlow, "step-s": f.step, "placed-s": f.placed, "seen-s": f.seen,
		} {
			b.ReportMetric(took.Seconds(), name)
		}
		b.ReportMetric(f.megabytes, "page-MB")
	}
}
