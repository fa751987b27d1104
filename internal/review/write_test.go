package review_test

import (
	"math"
	"testing"

	"github.com/chromedp/chromedp/kb"

	"pushcue/internal/testbrowser"
)

func TestALogIsWrittenWhileWatching(t *testing.T) {
	folder := jobFolder(t, "en", "", first)
	p := open(t, folder)
	p.frame(t)
	// Without a log the pad lies open by itself.
	p.Until(`document.querySelector(".pad button")`)
	if n := testbrowser.Ask[int](p.Browser, `document.querySelectorAll(".pad button").length`); n < 30 {
		t.Errorf("%d kinds to touch", n)
	}
	p.seek(50)
	p.saved(func() { p.press("roots") })

	// Distance, clock position and note go with the next touch.
	p.seek(100)
	p.Click(".told [data-field=distance]")
	p.Press("3.2 m")
	p.Click(".told summary")
	p.ClickAt(".told .dial-face", 0.5, 0.8)
	p.saved(func() { p.press("crack") })

	// Keys: 4 is the fourth kind; typing ahead takes what isn't a button.
	p.seek(150)
	p.saved(func() { p.Press("4") })
	p.seek(200)
	p.Click(".told [role=combobox]")
	p.saved(func() { p.Press("root ball, small" + kb.Enter) })

	want := []struct {
		at   float64
		what string
	}{{2, "roots"}, {4, "crack"}, {6, "broken pipe"}, {8, "root ball, small"}}
	seen := p.state().Timeline.Observations
	if len(seen) != len(want) {
		t.Fatalf("%d observations, want %d", len(seen), len(want))
	}
	for i, w := range want {
		if math.Abs(seen[i].Video-w.at) > 1e-6 || seen[i].What == nil || *seen[i].What != w.what {
			t.Errorf("observation %d: %v at %v s, want %s at %v s", i+1, *seen[i].What, seen[i].Video, w.what, w.at)
		}
	}
	if d := seen[1].Distance; d == nil || *d != 3.2 || *seen[1].ClockFrom != 6 {
		t.Errorf("the crack is at %v m, %v o'clock", show(d), *seen[1].ClockFrom)
	}

	// While the recording runs on, a touch takes the frame of that moment.
	p.seek(220)
	p.press("Play")
	p.Until(`Number(document.querySelector("input[type=range]").value) > 240`)
	p.saved(func() { p.press("hole") })
	if !testbrowser.Ask[bool](p.Browser, `document.querySelector("canvas").hidden || Number(document.querySelector("input[type=range]").value) === 399`) {
		t.Error("the recording stopped at the touch")
	}
	last := p.state().Timeline.Observations[4]
	if last.Video < 240*0.04 || last.Video > 16 {
		t.Errorf("the hole was written at %v s", last.Video)
	}
}
