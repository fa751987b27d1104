package review

import (
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"pushcue/internal/job"
	"pushcue/internal/testfootage"
	"pushcue/timeline"
	"pushcue/timeline/codes"
	"pushcue/timeline/document"
)

// waysJob is a job of one recording of 16 s.
func waysJob(t *testing.T, sheet, log string) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "78-B")
	testfootage.Link(t, testfootage.Spec{Frames: 400, Width: 160, Height: 120, GOP: 100, BFrames: 2}, filepath.Join(dir, "part1.mp4"))
	write(t, filepath.Join(dir, "job.toml"), sheet)
	write(t, filepath.Join(dir, "log.csv"), log)
	return dir
}

const untied = "[job]\ndate = 2026-03-02\nzone = \"Europe/Lisbon\"\n[log]\nlag = \"0s\"\n[counter]\nlook = \"off\"\n"

const starts = untied + "[recording]\nstarts = \"10:00:00\"\n"

// warned is the first warning of a code.
func warned(t *testing.T, s state, code codes.Code) warning {
	t.Helper()
	for _, w := range s.Warnings {
		if w.Code == code {
			return w
		}
	}
	t.Fatalf("nothing warns of %s: %+v", code, s.Warnings)
	panic("unreachable")
}

func warns(s state, code codes.Code) bool {
	return slices.ContainsFunc(s.Warnings, func(w warning) bool { return w.Code == code })
}

// out is the first way out of a kind.
func out(t *testing.T, w warning, do string) way {
	t.Helper()
	i := slices.IndexFunc(w.Ways, func(x way) bool { return x.Do == do })
	if i < 0 {
		t.Fatalf("%s has no way out by %q: %+v", w.Code, do, w.Ways)
	}
	return w.Ways[i]
}

func (b *browser) takes(w way) state {
	b.t.Helper()
	return b.edit(string(must(json.Marshal(w.Edit))))
}

func TestAPauseIsSeenAndStaysEvidence(t *testing.T) {
	anchors := "[[anchor]]\nrow = 1\nvideo = \"0:01.0\"\n[[anchor]]\nrow = 2\nvideo = \"0:05.0\"\n[[anchor]]\nrow = 3\nvideo = \"0:08.0\"\n[[anchor]]\nrow = 4\nvideo = \"0:12.0\"\n"
	rows := "time,distance,what\n10:00:01.0,1,roots\n10:00:05.0,2,crack\n10:02:08.0,3,belly\n10:02:12.0,4,hole\n"
	b := serve(t, waysJob(t, untied+anchors, rows))
	pause := warned(t, b.ready(), "pause-found")
	if pause.Noted != nil || len(pause.Ways) != 2 || math.Abs(*pause.Ways[0].Video-5) > 0.1 || math.Abs(*pause.Ways[1].Video-8) > 0.1 {
		t.Fatalf("it leads to neither side of the pause: %+v", pause)
	}
	s := b.edit(string(must(json.Marshal(map[string]string{"what": "noted", "code": string(pause.Code), "text": pause.Text}))))
	if now := warned(t, s, "pause-found"); now.Noted == nil || *now.Noted != s.Undo.Edit {
		t.Errorf("%+v", now)
	}
	if !slices.ContainsFunc(s.Timeline.Warnings, func(w document.Warning) bool { return w.Code == "pause-found" }) {
		t.Error("what was seen is gone from the timeline")
	}
	if other := warned(t, s, "part-untied"); other.Noted != nil {
		t.Error("one was seen, and another one counts as seen")
	}
	b.post("/api/undo", "{}")
	if now := warned(t, b.job(), "pause-found"); now.Noted != nil {
		t.Error("it still counts as seen")
	}
}

func TestAPartThatNothingTiesIsTiedInItsPicture(t *testing.T) {
	dir := waysJob(t, untied+"[[anchor]]\nrow = 1\nvideo = \"0:01.0\"\n", "time,distance,what\n10:00:01.0,1,roots\n10:30:01.0,2,crack\n")
	testfootage.Link(t, testfootage.Spec{Frames: 75, First: 400, Width: 160, Height: 120}, filepath.Join(dir, "part2.mp4"))
	b := serve(t, dir)
	w := warned(t, b.ready(), "part-untied")
	at := out(t, w, "tie").Video
	if at == nil || math.Abs(*at-16) > 0.1 {
		t.Fatalf("it leads to %v", at)
	}
	s := b.edit(`{"what":"tie","log":"10:30:00","frame":400}`)
	if o := b.observation(s, 2); o.Basis != "anchor" || math.Abs(o.Video-16.5) > 0.05 || o.Uncertainty < 0.4 {
		t.Errorf("%+v", o)
	}
	if warns(s, "part-untied") {
		t.Error("the part is tied, and the page still asks for it")
	}
}

// What only pictures say is a guess. With a person's yes it ties, and stays as unsure as
// it was.
func TestAGuessAtTheClockIsTakenByOneYes(t *testing.T) {
	b := serve(t, waysJob(t, untied, "time,distance,what\n10:00:03.0,1,roots\n"))
	s := b.ready()
	if s.Timeline.Clock.Basis != nil && *s.Timeline.Clock.Basis == "anchors" {
		t.Fatal("it is tied already")
	}
	v := b.server.sittings()[0].now.Load()
	guess := timeline.Warning{Code: "clock-proposed", Out: timeline.Out{Tie: &timeline.Tie{Log: "10:00:00", Half: 2500 * time.Millisecond}}}
	ways := waysOut(v, guess)
	if len(ways) != 2 || ways[0].Say != "way-tie-yes" || ways[1].Do != "tie" {
		t.Fatalf("%+v", ways)
	}
	o := b.observation(b.takes(ways[0]), 1)
	if o.Basis != "anchor" || math.Abs(o.Video-2.5) > 0.1 {
		t.Errorf("the yes ties nothing: %+v", o)
	}
	if o.Uncertainty < 2.4 {
		t.Errorf("a guess of ± 2.5 s became one of ± %v s", o.Uncertainty)
	}
}

func TestWhereTheHeadWasAtAResetIsSaidByOneTouch(t *testing.T) {
	readings := "video,distance\n"
	for i := range 160 {
		d := 0.03 * float64(i%80)
		readings += fmt.Sprintf("%.1f,%.2f m\n", float64(i)/10, d)
	}
	dir := waysJob(t, starts+"[distance]\nreadings = \"counter.csv\"\n", "time,what\n10:00:12.0,roots\n")
	write(t, filepath.Join(dir, "counter.csv"), readings)
	b := serve(t, dir)
	s := b.ready()
	before := *b.observation(s, 1).Distance
	w := warned(t, s, "counter-reset")
	if !w.Open || len(w.Ways) < 2 || w.Ways[1].Say != "way-reset" {
		t.Fatalf("%+v", w)
	}
	s = b.takes(w.Ways[0])
	if on := *b.observation(s, 1).Distance - before; math.Abs(on-2.4) > 0.11 {
		t.Errorf("distances go on by %.2f m, want those before it", on)
	}
	if w := warned(t, s, "counter-reset"); w.Open {
		t.Error("it was said, and is still open")
	}
	s = b.takes(w.Ways[1])
	if on := *b.observation(s, 1).Distance - before; math.Abs(on) > 0.06 {
		t.Errorf("said to be the start of the line, it lies off by %.2f m", on)
	}
	if warns(s, "reset-not-found") {
		t.Error("the word taken back by a later one still counts")
	}
}

func TestACorrectionThatNoLongerFitsIsTakenBack(t *testing.T) {
	rows := "time,distance,what\n10:00:01.0,1,roots\n10:00:05.0,2,crack\n"
	dir := waysJob(t, starts, rows)
	b := serve(t, dir)
	b.ready()
	b.edit(`{"what":"set","row":2,"values":{"note":"typed on the page"}}`)
	b.edit(`{"what":"set","row":1,"values":{"urgency":"repair"}}`)
	write(t, filepath.Join(dir, "log.csv"), strings.Replace(rows, "10:00:05.0,2,crack", "10:00:06.0,3,hole", 1))
	s := b.until("a warning", func(s state) bool { return warns(s, "edit-unfit") })
	w := warned(t, s, "edit-unfit")
	if lead := out(t, w, "row"); lead.Row != 2 {
		t.Errorf("it leads to row %d", lead.Row)
	}
	status, _ := b.post("/api/undo", string(must(json.Marshal(map[string]string{"edit": out(t, w, "undo").Undo}))))
	if s = b.job(); status != http.StatusOK || warns(s, "edit-unfit") {
		t.Errorf("%d: it is still there", status)
	}
	if u := b.observation(s, 1).Urgency; u == nil || *u != "repair" {
		t.Error("another correction went with it")
	}
}

func TestAssumptionsAreTakenByATouch(t *testing.T) {
	b := serve(t, waysJob(t, starts, "time,distance,what\n10:00:03.0,1,roots\n10:00:06.0,2,roots\n"))
	s := b.ready()
	// The page sets out the track; tens of thousands of readings behind it stay here.
	if len(s.Timeline.Distance.Readings) > 0 || len(s.Track) == 0 {
		t.Errorf("the page was sent %d readings, and %d points of the track", len(s.Timeline.Distance.Readings), len(s.Track))
	}
	v := b.server.sittings()[0].now.Load()
	for code, want := range map[codes.Code]map[string]any{
		"zone-assumed":         {"job.zone": "Europe/Lisbon"},
		"counter-unit-assumed": {"counter.unit": "m"},
	} {
		ways := waysOut(v, timeline.Warning{Code: code})
		if len(ways) == 0 || ways[0].Do != "edit" {
			t.Errorf("%s: %+v", code, ways)
			continue
		}
		got, _ := ways[0].Edit["values"].(map[string]any)
		for key := range want {
			if got[key] != want[key] {
				t.Errorf("%s: %v", code, got)
			}
		}
	}
}

func TestAListIsTypedIntoOneField(t *testing.T) {
	v := &view{job: &job.Job{Videos: []job.Source{{Name: "one, two.mp4"}, {Name: "b.mp4"}}}}
	for _, x := range []struct{ key, typed, want string }{
		{"recording.files", "b.mp4, a.mp4 ,c.mp4", `["b.mp4","a.mp4","c.mp4"]`},
		{"recording.files", "b.mp4", `"b.mp4"`},
		{"recording.files", "one, two.mp4", `"one, two.mp4"`},
		{"counter.look", "40, 400, 180, 50", `[40,400,180,50]`},
		{"counter.look", "auto", `"auto"`},
		{"counter.look", "1, 2, 3, x", `"1, 2, 3, x"`},
		{"line.material", "clay, then PVC", `"clay, then PVC"`},
	} {
		if got := string(must(json.Marshal(listTyped(v, x.key, x.typed)))); got != x.want {
			t.Errorf("%s %q: %s, want %s", x.key, x.typed, got, x.want)
		}
	}
}
