package review

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"errors"
	"image/jpeg"
	"math"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"pushcue/internal/handover"
	"pushcue/internal/job"
	"pushcue/internal/placing"
	"pushcue/internal/testfootage"
	"pushcue/internal/trouble"
	"pushcue/timeline/document"
	"pushcue/timeline/edits"
)

func TestTheFrameSentIsTheFrameAskedFor(t *testing.T) {
	b, _ := demo(t)
	s := b.job()
	_, data := b.get("/api/frames")
	if len(data) != 8*85 || s.Film.Frames != 85 {
		t.Fatalf("%d bytes of times, %d frames", len(data), s.Film.Frames)
	}
	if at := math.Float64frombits(binary.LittleEndian.Uint64(data[8*61:])); math.Abs(at-61.0/25) > 1e-6 {
		t.Errorf("frame 61 is at %v", at)
	}
	// Steps on and back, the seam between the parts, and jumps.
	for i, n := range []int{0, 1, 29, 30, 58, 59, 60, 61, 84, 83, 12, 5} {
		for _, width := range []string{"", "&width=0", "&width=120"}[:1+2*(i%2)] {
			status, picture := b.get("/api/still?frame=" + strconv.Itoa(n) + width)
			if status != http.StatusOK {
				t.Fatalf("frame %d: %d %s", n, status, picture)
			}
			img, err := jpeg.Decode(bytes.NewReader(picture))
			if err != nil {
				t.Fatal(err)
			}
			if got, ok := testfootage.ReadNumber(img); !ok || got != n {
				t.Errorf("asked for frame %d%s, got %d (%v)", n, width, got, ok)
			}
		}
	}
	for _, n := range []string{"-1", "85", "x", "", "99999999999999999999"} {
		if status, _ := b.get("/api/still?frame=" + url.QueryEscape(n)); status != http.StatusNotFound {
			t.Errorf("frame %q: %d", n, status)
		}
	}
}

func must(b []byte, err error) []byte {
	if err != nil {
		panic(err)
	}
	return b
}

func TestAStandInShowsEveryFrameAtItsTime(t *testing.T) {
	b, _ := demo(t)
	s := b.until("the stand-in", func(s state) bool { return s.Film != nil && s.Film.Parts[1].StandIn.State == "ready" })
	if !s.Film.Parts[0].Playable || s.Film.Parts[1].Playable {
		t.Errorf("%+v", s.Film.Parts)
	}
	status, film := b.get("/media/proxy/1")
	if status != http.StatusOK {
		t.Fatal(status)
	}
	path := filepath.Join(t.TempDir(), "stand-in.mp4")
	write(t, path, string(film))
	tools, err := findTools(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	numbers, times := look(t, tools, path)
	if len(numbers) != 25 {
		t.Fatalf("%d frames", len(numbers))
	}
	for i := range numbers {
		if numbers[i] != 60+i || math.Abs(times[i]-float64(i)/25) > 1e-4 {
			t.Errorf("frame %d is %d, at %v", i, numbers[i], times[i])
		}
	}
	if status, _ := b.get("/media/proxy/0"); status != http.StatusNotFound {
		t.Errorf("a stand-in that nobody needs: %d", status)
	}
}

func TestACorrectionMovesWhatItShould(t *testing.T) {
	b, dir := demo(t)
	before := b.job()
	if at := b.observation(before, 2).Video; math.Abs(at-1) > 0.021 {
		t.Fatalf("row 2 is at %v", at)
	}
	// The clock is tied at row 1: all move by the fit.
	s := b.edit(`{"what":"anchor","row":1,"frame":20}`)
	if o := b.observation(s, 1); o.Basis != "person" || math.Abs(o.Video-0.8) > 1e-9 || o.ByPerson[0] != "video_s" {
		t.Errorf("%+v", o)
	}
	if at := b.observation(s, 2).Video; math.Abs(at-1.8) > 0.021 {
		t.Errorf("the anchor moved row 2 to %v", at)
	}
	// Just row 2.
	s = b.edit(`{"what":"seen","row":2,"frame":70}`)
	if at := b.observation(s, 2).Video; math.Abs(at-2.8) > 1e-9 {
		t.Errorf("row 2 is at %v", at)
	}
	if at := b.observation(s, 1).Video; math.Abs(at-0.8) > 1e-9 {
		t.Errorf("row 1 moved to %v", at)
	}
	s = b.edit(`{"what":"add","frame":33,"values":{"what":"hole","distance":"1,5","clock":"4"}}`)
	added := b.observation(s, 4)
	if added.Added == nil || *added.Added != s.Added || added.Kind == nil || *added.Kind != "hole" || *added.Distance != 1.5 {
		t.Errorf("%+v", added)
	}
	s = b.edit(`{"what":"set","on":"` + s.Added + `","values":{"urgency":"watch"}}`)
	if u := b.observation(s, 4).Urgency; u == nil || *u != "watch" {
		t.Error(u)
	}
	// It's worded as in every output.
	if got := s.Rows[3].Said; got.Name != "hole" || got.Where != "1.5 m" || got.Half == "" || got.Advice != "watch" {
		t.Errorf("row 4 is said to be %+v", got)
	}
	s = b.edit(`{"what":"aside","row":3}`)
	if len(s.Timeline.SetAside) != 1 || s.Timeline.SetAside[0].Row != 3 {
		t.Errorf("%+v", s.Timeline.SetAside)
	}
	s = b.edit(`{"what":"set","row":3,"values":{"distance":"3.0"}}`)
	s = b.edit(`{"what":"restore","row":3}`)
	for _, w := range s.Warnings {
		if w.Code == "cell-unreadable" {
			t.Errorf("the cell was typed anew: %+v", w)
		}
	}
	s = b.edit(`{"what":"sheet","values":{"line.size":"100 mm","recording.show_from":"0:00.4"}}`)
	if s.Timeline.Job.Line.Size == nil || *s.Timeline.Job.Line.Size != "100 mm" || s.Film.ShowFrom != 0.4 {
		t.Errorf("%+v", s.Timeline.Job)
	}
	if s.Undos != 8 || s.Undo == nil {
		t.Errorf("%d to undo", s.Undos)
	}

	// The command reads the same from the folder.
	visit, err := job.Open(t.Context(), job.Ask{Path: dir})
	if err != nil {
		t.Fatal(err)
	}
	tools, _ := findTools(t.Context(), nil)
	placed, err := placing.Place(t.Context(), tools, visit.Jobs[0], placing.PlaceOptions{Quick: true})
	if err != nil {
		t.Fatal(err)
	}
	document := handover.Document(placed)
	document.Distance.Readings = nil // the page isn't sent them
	want, _ := json.Marshal(document)
	got, _ := json.Marshal(s.Timeline)
	if !bytes.Equal(want, got) {
		t.Errorf("the page and the command differ:\n%s\n%s", got, want)
	}
	log, _ := os.ReadFile(filepath.Join(dir, "log.csv"))
	sheet, _ := os.ReadFile(filepath.Join(dir, "job.toml"))
	if string(log) != demoLog || string(sheet) != demoSheet {
		t.Error("the log or the job sheet was changed")
	}
}

func TestUndoToTheStartGivesTheUneditedTimeline(t *testing.T) {
	b, _ := demo(t)
	before := b.document()
	for _, e := range []string{
		`{"what":"anchor","row":2,"frame":40}`, `{"what":"seen","row":1,"frame":10}`, `{"what":"add","frame":33,"values":{"what":"hole"}}`,
		`{"what":"set","row":1,"values":{"note":"","distance":"1.2 m","to":"1.6"}}`, `{"what":"aside","row":2}`, `{"what":"still","row":1,"frame":12}`,
		`{"what":"clip","row":1,"from_frame":5,"to_frame":20}`, `{"what":"sheet","values":{"distance.zero":"0.2 m","line.name":"kitchen"}}`,
		`{"what":"taped","counter":"1 m","length":"0.9 m"}`, `{"what":"no-anchor","row":2}`,
	} {
		b.edit(e)
	}
	after := b.document()
	for range 10 {
		if status, text := b.post("/api/undo", "{}"); status != http.StatusOK {
			t.Fatalf("%d %s", status, text)
		}
	}
	if got := b.document(); got != before {
		t.Errorf("undone, but not as before:\n%s\n%s", before, got)
	}
	if status, _ := b.post("/api/undo", "{}"); status != http.StatusUnprocessableEntity {
		t.Errorf("undo of nothing: %d", status)
	}
	for range 10 {
		if status, text := b.post("/api/redo", "{}"); status != http.StatusOK {
			t.Fatalf("%d %s", status, text)
		}
	}
	if got := b.document(); got != after {
		t.Errorf("brought back, but not as it was:\n%s\n%s", after, got)
	}
}

func TestWhatCantBeIsRefusedAndNotWritten(t *testing.T) {
	b, dir := demo(t)
	before := b.document()
	written, _ := os.ReadFile(filepath.Join(dir, edits.File)) // there may be none
	for _, e := range []string{
		`{"what":"set","row":1,"values":{"distance":"far"}}`, `{"what":"set","row":1,"values":{"clock":"17"}}`, `{"what":"set","row":9,"values":{"note":"x"}}`,
		`{"what":"set","on":"nobody","values":{"note":"x"}}`, `{"what":"seen","row":1}`, `{"what":"seen","row":1,"frame":85}`, `{"what":"seen","row":1,"frame":-1}`,
		`{"what":"sheet","values":{"line.sise":"1"}}`, `{"what":"sheet","values":{"log.file":"../../secret.csv"}}`, `{"what":"sheet","values":{"recording.files":["/etc/hostname"]}}`,
		`{"what":"sheet","values":{"recording.show_from":"0:03","recording.show_to":"0:01"}}`, `{"what":"clip","row":1,"from_frame":20,"to_frame":10}`,
		`{"what":"taped","counter":"1 m","length":"far"}`, `{"what":"fly"}`, `{"what":"undo","edit":"x"}`, `{}`, `[]`, `nonsense`, ``,
	} {
		if status, text := b.post("/api/edit", e); status != http.StatusUnprocessableEntity && status != http.StatusBadRequest {
			t.Errorf("%s: %d %.200s", e, status, text)
		}
	}
	if now, _ := os.ReadFile(filepath.Join(dir, edits.File)); !bytes.Equal(now, written) {
		t.Errorf("something was written: %s", now)
	}
	if now := b.document(); now != before {
		t.Errorf("what was placed changed:\n%s\n%s", before, now)
	}
}

func TestQuestionsAreAnsweredByAClick(t *testing.T) {
	dir := jobFolder(t, strings.Replace(demoSheet, "date = 2026-03-02\n", "", 1), "date;time;what;distance\n01/02/2026;10:00:01;roots;1,234\n01/02/2026;10:00:02;crack;2,345\n")
	b := serve(t, dir)
	s := b.until("questions", func(s state) bool { return s.State == "asking" })
	for round := 0; s.State == "asking"; round++ {
		if round > 4 || len(s.Asked) == 0 || len(s.Asked[0].Choices) < 2 {
			t.Fatalf("%+v", s.Asked)
		}
		s = b.edit(string(must(json.Marshal(s.Asked[0].Choices[0].Edit))))
	}
	if s.State != "ready" || len(s.Rows) != 2 {
		t.Fatalf("%s %+v %+v", s.State, s.Trouble, s.Rows)
	}
}

func TestWhichFileIsTheLogIsAsked(t *testing.T) {
	dir := jobFolder(t, demoSheet, "")
	write(t, filepath.Join(dir, "sewer.csv"), demoLog)
	write(t, filepath.Join(dir, "prices.csv"), "item,price\n")
	b := serve(t, dir)
	s := b.until("questions", func(s state) bool { return s.State == "asking" })
	if len(s.Asked) != 1 || len(s.Asked[0].Choices) != 2 || s.Asked[0].Choices[1].Label != "sewer.csv" {
		t.Fatalf("%+v", s.Asked)
	}
	s = b.edit(string(must(json.Marshal(s.Asked[0].Choices[1].Edit))))
	if s.State != "ready" || len(s.Rows) != 3 {
		t.Errorf("%s %+v", s.State, s.Rows)
	}
}

func TestAnAnchorSetAsideHasAWayOut(t *testing.T) {
	rows := "time;distance;what\n10:00:00.0;1;roots\n10:00:00.5;1;crack\n10:00:01.0;1;belly\n10:00:01.5;1;scale\n10:00:02.0;1;hole\n"
	anchors := ""
	for row, at := range map[int]string{1: "0:00.0", 2: "0:02.2", 3: "0:01.0", 4: "0:01.5", 5: "0:02.0"} {
		anchors += "[[anchor]]\nrow = " + strconv.Itoa(row) + "\nvideo = \"" + at + "\"\n"
	}
	b := serve(t, jobFolder(t, strings.Replace(demoSheet, "starts = \"10:00:00\"\n", "", 1)+anchors, rows))
	b.until("a state", func(s state) bool { return s.State != "opening" })
	s := b.job()
	for _, w := range s.Warnings {
		if w.Code != "anchor-set-aside" {
			continue
		}
		if len(w.Ways) != 2 || w.Ways[0].Say != "anchor-away" {
			t.Fatalf("%+v", w)
		}
		s = b.edit(string(must(json.Marshal(w.Ways[0].Edit))))
		if len(s.Anchors) != 4 {
			t.Errorf("%+v", s.Anchors)
		}
		return
	}
	t.Fatalf("no anchor was set aside: %s %+v %+v %+v", s.State, s.Trouble, s.Asked, s.Warnings)
}

func TestAPushWithoutALogIsLoggedInThePage(t *testing.T) {
	b := serve(t, jobFolder(t, demoSheet, ""))
	b.ready()
	s := b.edit(`{"what":"add","frame":30,"values":{"what":"roots","distance":"1.5","note":"=1+1"}}`)
	if len(s.Rows) != 1 || s.Rows[0].Row != 1 || b.observation(s, 1).Video != 1.2 {
		t.Errorf("%+v", s.Rows)
	}
}

func TestASecondProgramIsTold(t *testing.T) {
	b, dir := demo(t)
	visit, err := job.Open(t.Context(), job.Ask{Path: dir})
	if err != nil {
		t.Fatal(err)
	}
	other, err := Listen(Options{Visit: visit, Tools: findTools})
	if err != nil {
		t.Fatal(err)
	}
	var told *trouble.Trouble
	if err := other.Serve(t.Context()); !errors.As(err, &told) || !strings.Contains(told.Text.String(), "looked over") {
		t.Errorf("%v", err)
	}
	b.edit(`{"what":"set","row":1,"values":{"note":"still at work"}}`) // the first one goes on
}

func TestWhatOthersWriteIsTakenUp(t *testing.T) {
	dir := jobFolder(t, demoSheet, demoLog)
	b := serve(t, dir)
	b.ready()
	f, err := os.OpenFile(filepath.Join(dir, edits.File), os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o644)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.WriteString(`{"id":"x1","time":"2026-03-02T18:00:00Z","author":"ben","what":"set","row":1,"values":{"note":"by ben"}}` + "\n" + `{"id":"x2","ti`); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	s := b.edit(`{"what":"set","row":2,"values":{"note":"by ana"}}`)
	if *b.observation(s, 1).Note != "by ben" || *b.observation(s, 2).Note != "by ana" || len(s.Edits) != 2 {
		t.Errorf("%+v", s.Edits)
	}
	text, err := os.ReadFile(filepath.Join(dir, edits.File))
	if err != nil {
		t.Fatal(err)
	}
	list := edits.Read(edits.File, text)
	if len(list.Live()) != 2 || len(list.Faults) != 1 {
		t.Errorf("%s", text)
	}
}

func TestMakeRunsFromThePage(t *testing.T) {
	dir := jobFolder(t, demoSheet, demoLog)
	b := serve(t, dir)
	b.ready()
	b.edit(`{"what":"still","row":1,"frame":7}`)
	if status, text := b.post("/api/make", `{"quick":true,"only":["stills","log"]}`); status != http.StatusAccepted {
		t.Fatalf("%d %s", status, text)
	}
	s := b.until("the handover", func(s state) bool { return s.Task != nil && s.Task.State != "running" })
	if s.Task.State != "done" || !s.Handover.Made || s.Handover.Stale {
		t.Fatalf("%+v %+v", s.Task, s.Handover)
	}
	text, err := os.ReadFile(filepath.Join(dir, "handover", "timeline.json"))
	if err != nil {
		t.Fatal(err)
	}
	var d document.Document
	if err := json.Unmarshal(text, &d); err != nil {
		t.Fatal(err)
	}
	o := d.Observations[0]
	if o.StillTime == nil || math.Abs(*o.StillTime-7.0/25) > 1e-9 || strings.Join(o.ByPerson, " ") != "still_s" {
		t.Errorf("%+v", o)
	}
	status, picture := b.get("/handover/" + (&url.URL{Path: *o.Still}).EscapedPath())
	if status != http.StatusOK {
		t.Fatal(status)
	}
	img, err := jpeg.Decode(bytes.NewReader(picture))
	if err != nil {
		t.Fatal(err)
	}
	if n, ok := testfootage.ReadNumber(img); !ok || n != 7 {
		t.Errorf("the still shows frame %d", n)
	}
	if status, _ := b.post("/api/make", `{"only":["dreams"]}`); status != http.StatusUnprocessableEntity {
		t.Errorf("%d", status)
	}
}

func TestTheStartPageLeadsToAJob(t *testing.T) {
	b := serve(t, "")
	parent := t.TempDir()
	status, text := b.post("/api/new", string(must(json.Marshal(map[string]any{"parent": parent, "name": "88-B", "values": map[string]string{"job.reference": `8"8`, "customer.name": "a customer"}}))))
	if status != http.StatusOK {
		t.Fatalf("%d %s", status, text)
	}
	dir := filepath.Join(parent, "88-B")
	for _, name := range []string{"", "..", "a/b", `a\b`, ".x", "CON:"} {
		if status, _ := b.post("/api/new", string(must(json.Marshal(map[string]any{"parent": parent, "name": name})))); status != http.StatusUnprocessableEntity {
			t.Errorf("a folder called %q: %d", name, status)
		}
	}
	choose := string(must(json.Marshal(map[string]string{"folder": dir})))
	if status, text := b.post("/api/choose", choose); status != http.StatusUnprocessableEntity || !strings.Contains(string(text), "holds no recording") {
		t.Errorf("%d %s", status, text)
	}
	testfootage.Link(t, part1, filepath.Join(dir, "part1.mp4"))
	if status, text := b.post("/api/choose", choose); status != http.StatusOK {
		t.Fatalf("%d %s", status, text)
	}
	s := b.ready()
	if s.Timeline.Job.Customer == nil || *s.Timeline.Job.Customer.Name != "a customer" || *s.Timeline.Job.Reference != `8"8` {
		t.Errorf("%+v", s.Timeline.Job)
	}
	if status, _ := b.post("/api/close", "{}"); status != http.StatusOK {
		t.Error(status)
	}
	var start startShown
	_, text = b.get("/api/start")
	if err := json.Unmarshal(text, &start); err != nil || len(start.Recent) != 1 || start.Recent[0].Folder != dir {
		t.Errorf("%s %v", text, err)
	}
	var in folders
	_, text = b.get("/api/folders?path=" + url.QueryEscape(parent))
	if err := json.Unmarshal(text, &in); err != nil || len(in.Folders) != 1 || !in.Folders[0].Job {
		t.Errorf("%s", text)
	}
}
