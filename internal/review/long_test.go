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

// A push of two hours (20 minutes at the least) with 400 rows: first sight, seeking and correcting stay quick, and
// the page's memory doesn't grow with what was looked at.
func TestALongJobStaysQuick(t *testing.T) {
	if !soak.On() {
		t.Skip("set PUSHCUE_SOAK=1: it makes two hours of footage")
	}
	frames := soak.Count(30_000, 180_000)
	long := testfootage.Spec{Frames: frames, GOP: 250, BFrames: 2, Crf: 35}
	var text strings.Builder
	text.WriteString("time,distance,what,urgency,note\n")
	for i := range 400 {
		at := time.Date(2026, 4, 14, 10, 0, 0, 0, time.UTC).Add(time.Duration(10+i*frames/10_600) * time.Second)
		fmt.Fprintf(&text, "%s,%.1f m,roots,watch,row %d\n", at.Format("15:04:05"), 0.5+0.1*float64(i), i+1)
	}
	folder := job(t, "en", text.String(), long)

	began := time.Now()
	p := open(t, folder)
	p.frame(t)
	cold := time.Since(began)
	// Again, as at the second opening: the recording has been looked through.
	began = time.Now()
	second := &page{p.Beside(p.address), t, p.served}
	second.Until(`document.body.dataset.ready === "true" && document.querySelectorAll(".item").length === 400 && document.querySelector("canvas").dataset.frame === "0"`)
	sight := time.Since(began)

	var seeks []time.Duration
	for i := range 40 {
		n := (i*48_611 + 997) % frames
		began := time.Now()
		p.seek(n)
		seeks = append(seeks, time.Since(began))
	}
	slices.Sort(seeks)
	if carried, named := p.frame(t); carried != named {
		t.Errorf("the picture carries %d and is named %d", carried, named)
	}
	var steps []time.Duration
	for range 40 {
		n := testbrowser.Ask[int](p.Browser, `Number(document.querySelector("input[type=range]").value)`)
		began := time.Now()
		p.Do(`document.querySelector(".steps button:nth-child(5)").click()`)
		p.Until(fmt.Sprintf(`document.querySelector("canvas").dataset.frame === "%d"`, n+1))
		steps = append(steps, time.Since(began))
	}
	slices.Sort(steps)

	heap := func() float64 { return testbrowser.Ask[float64](p.Browser, `performance.memory.usedJSHeapSize`) / 1e6 }
	before := heap()
	p.choose("r200")
	// From the touch to the picture in which the page tells that it is saved.
	correction := time.Duration(1e6 * testbrowser.Ask[float64](p.Browser, `new Promise(done => {
		const began = performance.now(), seen = new MutationObserver(() => { seen.disconnect(); requestAnimationFrame(() => setTimeout(() => done(performance.now() - began))); });
		seen.observe(document.querySelector(".foot [role=status]"), {childList: true, characterData: true, subtree: true});
		document.querySelector(".detail .choice:nth-child(3)").click();
	})`))
	// The program answers when it has placed all rows anew.
	placed := time.Duration(1e6 * testbrowser.Ask[float64](p.Browser, `performance.getEntriesByType("resource").filter(e => e.name.includes("/api/edit")).at(-1).duration`))
	for i := range 60 {
		p.seek(i * frames / 62)
	}
	after := heap()

	t.Logf("first sight %v (first opening of all, with looking through the recording: %v); seek median %v, 9 in 10 %v; step median %v; a correction placed after %v, seen after %v; page's memory %.0f MB, after 60 more seeks %.0f MB",
		sight.Round(time.Millisecond), cold.Round(time.Millisecond), seeks[20].Round(time.Millisecond), seeks[36].Round(time.Millisecond), steps[20].Round(time.Millisecond), placed.Round(time.Millisecond), correction.Round(time.Millisecond), before, after)
	if sight > 2*time.Second {
		t.Errorf("first sight takes %v, want under 2 s", sight)
	}
	if seeks[20] > 300*time.Millisecond {
		t.Errorf("a seek takes %v in the middle, want under 300 ms", seeks[20])
	}
	if placed > 100*time.Millisecond {
		t.Errorf("a correction is placed after %v, want under 100 ms", placed)
	}
	if correction > 300*time.Millisecond {
		t.Errorf("a correction is seen after %v, want under 300 ms", correction)
	}
	if math.Max(before, after) > 200 {
		t.Errorf("the page holds %.0f MB, then %.0f MB", before, after)
	}
}
