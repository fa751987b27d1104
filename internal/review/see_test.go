package review_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"pushcue/internal/testbrowser"
)

func TestStepsShowTheFrameThatIsNamed(t *testing.T) {
	p := open(t, job(t, "en", written, first, second))
	is := func(want int) {
		t.Helper()
		if carried, named := p.frame(t); carried != want || named != want {
			t.Errorf("the picture carries %d and is named %d, want %d", carried, named, want)
		}
		at := testbrowser.Ask[float64](p.Browser, fmt.Sprintf(`fetch("/api/frames").then(r => r.arrayBuffer()).then(b => new Float64Array(b)[%d])`, want))
		if math.Abs(at-float64(want)*0.04) > 1e-6 {
			t.Errorf("frame %d is said to be at %v", want, at)
		}
	}
	is(0)
	p.Press(kb.ArrowRight)
	is(1)
	p.press("+10")
	is(11)
	p.press("+1 s")
	is(36)
	p.press("−1 s")
	is(11)
	p.Click(".steps button:nth-child(3)")
	is(10)
	p.PressWith(kb.ArrowRight, chromedp.ModifierShift)
	is(20)
	p.Press(kb.PageDown)
	is(0)

	// The last frame, in a part that no browser plays, and over the seam between the parts.
	p.Do(`const s = document.querySelector("input[type=range]"); s.value = 399; s.dispatchEvent(new Event("input"))`)
	is(399)
	p.press("+10")
	is(409)
	p.Press(kb.ArrowLeft)
	is(408)
	p.Do(`const s = document.querySelector("input[type=range]"); s.value = 99999; s.dispatchEvent(new Event("input"))`)
	is(474)
	p.Press(kb.ArrowRight)
	is(474)
}

func TestAnObservationShowsItsOwnFrame(t *testing.T) {
	p := open(t, job(t, "en", written, first, second))
	for _, o := range p.state().Timeline.Observations {
		p.choose(fmt.Sprintf("r%d", o.Row))
		p.Until(fmt.Sprintf(`document.querySelector("input[type=range]").value === "%d"`, int(math.Round(o.Video/0.04))))
		if carried, _ := p.frame(t); math.Abs(float64(carried)*0.04-o.Video) > 1e-6 {
			t.Errorf("observation %d stands at %v s, its picture carries frame %d", o.Number, o.Video, carried)
		}
		p.press("All observations")
	}
}

func TestPlayingStopsOnTheFrameThatIsSaid(t *testing.T) {
	p := open(t, job(t, "en", written, first))
	p.frame(t)
	p.Until(`document.querySelector(".stage .wait").hidden`) // else single pictures run, until there is a film
	p.Press(" ")
	p.Until(`Number(document.querySelector("input[type=range]").value) > 20`)
	if !testbrowser.Ask[bool](p.Browser, `document.querySelector("canvas").hidden`) {
		t.Error("a still lies over the running film")
	}
	p.Press(" ")
	carried, named := p.frame(t)
	if carried != named {
		t.Errorf("the picture carries %d and is named %d", carried, named)
	}
	// The browser's own player stands there too, or a frame away: it may have gone on by one.
	film := testbrowser.Ask[float64](p.Browser, `document.querySelector("video").currentTime`)
	if off := film/0.04 - float64(carried); off < -1.5 || off > 14 {
		t.Errorf("the film stands at %v s, the picture is frame %d", film, carried)
	}
}

func TestAPartThatNoBrowserPlaysRunsAllTheSame(t *testing.T) {
	p := open(t, job(t, "en", "", second))
	p.frame(t)
	p.press("Play")
	p.Until(`Number(document.querySelector("input[type=range]").value) === 74 && document.querySelector(".steps .main").textContent === "Play"`)
	if carried, named := p.frame(t); carried != 474 || named != 74 {
		t.Errorf("at its end stands frame %d, named %d", carried, named)
	}
}

func TestTheChartLeadsToAMomentAndToAnObservation(t *testing.T) {
	p := open(t, job(t, "en", written, first))
	p.frame(t)
	p.ClickAt(".chart svg", 0.99, 0.9)
	p.Until(`Number(document.querySelector("input[type=range]").value) > 380`)
	dots := testbrowser.Ask[int](p.Browser, `document.querySelectorAll(".chart .dot").length`)
	if placed := len(p.state().Timeline.Observations); dots != placed {
		t.Errorf("%d dots for %d observations", dots, placed)
	}
	if !testbrowser.Ask[bool](p.Browser, `document.querySelectorAll(".chart .sure").length > 0`) {
		t.Error("the chart doesn't say how sure the places are")
	}
	p.Click(".chart .dot")
	p.Until(`document.querySelector(".detail h2")`)
}
