package review_test

import (
	"encoding/binary"
	"fmt"
	"math"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"pushcue/internal/job"
	"pushcue/internal/review"
	"pushcue/internal/testbrowser"
)

func TestStepsShowTheFrameThatIsNamed(t *testing.T) {
	p := open(t, jobFolder(t, "en", written, first, second))
	_, times := p.get(t, "/api/frames")
	is := func(want int) {
		t.Helper()
		if carried, named := p.frame(t); carried != want || named != want {
			t.Errorf("the picture carries %d and is named %d, want %d", carried, named, want)
		}
		at := math.Float64frombits(binary.LittleEndian.Uint64(times[8*want:]))
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
	p := usual(t)
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
	p := usual(t)
	p.frame(t)
	p.Until(`document.querySelector(".stage .wait").hidden`) // else single pictures run, until there is a film
	// It runs so slowly that a frame stays for more than half a second.
	p.Do(`document.querySelector("video").defaultPlaybackRate = 1 / 16`)
	p.seek(20)
	p.Press(" ")
	p.Until(`document.querySelector("canvas").hidden && Number(document.querySelector("input[type=range]").value) > 20`)
	// What the browser's own player shows, as a picture, and the number that the page gives it.
	p.Do(`const v = document.querySelector("video"); await new Promise((done) => v.requestVideoFrameCallback(() => {
		const c = document.createElement("canvas");
		[c.width, c.height] = [v.videoWidth, v.videoHeight];
		c.getContext("2d").drawImage(v, 0, 0);
		window.seen = {named: Number(document.querySelector("input[type=range]").value), picture: c.toDataURL("image/png")};
		done();
	}))`)
	named, shown := testbrowser.Ask[int](p.Browser, `window.seen.named`), numberIn(t, testbrowser.Ask[string](p.Browser, `window.seen.picture`))
	if shown != named && shown != named+1 { // which may have come meanwhile
		t.Errorf("the film shows frame %d while the page names %d", shown, named)
	}
	p.Press(" ")
	if carried, named := p.frame(t); carried != named || carried < shown {
		t.Errorf("stopped, the picture carries %d and is named %d, after %d was shown", carried, named, shown)
	}
}

// A browser that is short of time doesn't tell of each frame. At its end the film stands on
// its last one all the same.
func TestAPartThatNoBrowserPlaysRunsAllTheSame(t *testing.T) {
	p := serve(t, job.Ask{Path: jobFolder(t, "en", "", second)})
	p.Before(`const tell = HTMLVideoElement.prototype.requestVideoFrameCallback;
		HTMLVideoElement.prototype.requestVideoFrameCallback = function (f) { return tell.call(this, (now, shown) => shown.mediaTime < 1 && f(now, shown)); }`)
	p.Go(p.address)
	p.ready()
	p.frame(t)
	p.Until(knows(`m.job.recording.parts[0].proxy.state === "ready"`))
	p.press("Play")
	p.Until(`document.querySelector("video").ended && document.querySelector(".steps .main").textContent === "Play"`)
	if carried, named := p.frame(t); carried != 474 || named != 74 {
		t.Errorf("at its end stands frame %d, named %d", carried, named)
	}
}

// Until its stand-in is made, a part runs as a row of exact pictures.
func TestAPartRunsInSinglePicturesMeanwhile(t *testing.T) {
	p := usual(t)
	p.Before(`const real = window.fetch;
		window.fetch = async (address, options) => {
			const answer = await real(address, options);
			if (!String(address).startsWith("/api/job")) return answer;
			const job = await answer.json();
			if (job.recording) job.recording.parts[0].proxy.state = "making";
			return new Response(JSON.stringify(job), {status: answer.status});
		};
		` + review.PassesEvents(`block => !block.startsWith("event: proxy")`))
	p.Go(p.address)
	p.ready()
	p.frame(t)
	p.seek(390)
	p.press("Play")
	p.Until(`document.querySelector(".steps .main").textContent === "Play" && document.querySelector("canvas").dataset.frame === "399"`)
	if testbrowser.Ask[bool](p.Browser, `!!document.querySelector("video").currentSrc`) {
		t.Error("a film ran")
	}
	if carried, named := p.frame(t); carried != 399 || named != 399 {
		t.Errorf("at its end stands frame %d, named %d", carried, named)
	}
}

// What happens to a job while the page asks how it stands isn't missed.
func TestWhatHappensWhileThePageLoadsIsShown(t *testing.T) {
	p := usual(t)
	p.Before(`const real = window.fetch;
		window.fetch = async (address, options) => {
			const answer = await real(address, options);
			if (String(address).startsWith("/api/job") && !window.held) await new Promise((go) => { window.held = go; });
			return answer;
		};
		` + review.PassesEvents(`block => { if (block.startsWith("event: changed")) window.told = true; return true; }`))
	p.Go(p.address)
	p.Until(`window.held`)
	p.post(t, "/api/edit", `{"what":"set","row":2,"values":{"note":"typed elsewhere"}}`)
	p.Until(`window.told`)
	p.Do(`window.held()`)
	p.Until(`document.body.dataset.ready === "true" && ` + knows(`m.job.timeline.observations.some(o => o.note === "typed elsewhere")`))
}

// A picture that can't be had is said to be missing, whatever else is heard of the job
// meanwhile, and is there after another try.
func TestAPictureThatDidNotComeIsTriedAgain(t *testing.T) {
	p := usual(t)
	p.frame(t)
	p.Do(`window.real = window.fetch; window.fetch = (a, o) => String(a).includes("/api/still") ? Promise.reject(new TypeError("gone")) : real(a, o)`)
	p.Press(kb.ArrowRight)
	p.Until(`document.querySelector(".stage .wait").textContent.startsWith("This picture can't be fetched")`)
	p.Do(`(await import("/page/store.js")).changed()`)
	p.Do(`window.fetch = window.real`)
	p.press("Try again")
	if carried, named := p.frame(t); carried != 1 || named != 1 {
		t.Errorf("the picture carries %d and is named %d, want 1", carried, named)
	}
	p.Until(`document.querySelector(".stage .wait button").hidden`)
}

func TestTheChartLeadsToAMomentAndToAnObservation(t *testing.T) {
	p := usual(t)
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
