package page

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pushcue/internal/handover/account"
	"pushcue/internal/testpush"
	"pushcue/subtitles"
	"pushcue/timeline/document"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

var keep = flag.String("keep", "", "folder to leave a sample page in, to be looked at")

// nasty is text that would act as code if it were put anywhere as it is.
var nasty = []string{
	`<script>document.title="run"</script>`, `"><img src=x onerror=alert(1)>`, `</script><b>bold</b>`, `{{.Style}} {%x%}`,
	`&lt;already&gt; & <`, "two\nlines", `'; DROP`, `javascript:alert(1)`, "\u202eright to left\u202c", "😀 emoji", `-->`, strings.Repeat("long ", 2000),
}

func TestTextFromALogStaysText(t *testing.T) {
	d := sample()
	for i, s := range nasty {
		d.Observations = append(d.Observations, document.Observation{Number: 10 + i, What: &s, Note: &s, Distance: ptr(1.0 + float64(i)), Basis: "video"})
	}
	d.Job.Line.Name, d.Job.Ended, d.Job.Operator = &nasty[0], &nasty[1], &nasty[2]
	html := writeDocument(t, "en", d)
	for _, live := range []string{`<script>document`, `<img src=x`, `<b>bold`, `href="javascript`} {
		if strings.Contains(html, live) {
			t.Errorf("%q stands in the page as code", live)
		}
	}
}

func TestPageAsksNothingOfANetwork(t *testing.T) {
	html := writeDocument(t, "en", sample())
	for _, remote := range []string{"http://", "https://", `src="//`, "@import", "url("} {
		if strings.Contains(html, remote) {
			t.Errorf("the page names %q", remote)
		}
	}
}

func TestEveryLanguageSaysEverything(t *testing.T) {
	for _, tag := range words.Tags() {
		html := writeDocument(t, tag, sample())
		if strings.Contains(html, "[page-") || strings.Contains(html, "%!") {
			at := strings.Index(html, "[page-")
			t.Errorf("%s: a text is missing or misfilled near %q", tag, html[max(at-40, 0):max(at, 0)+60])
		}
	}
}

func TestNoDefectIsACompleteAnswer(t *testing.T) {
	d := sample()
	d.Observations, d.Unplaced = nil, nil
	if html := writeDocument(t, "en", d); !strings.Contains(html, "The log holds no entry: no fault was noted.") {
		t.Error("the page doesn't say that nothing was noted")
	}
}

func TestFileNamesInLinksActAsNothing(t *testing.T) {
	got := link("kitchen #2/as-filmed/50% \"x\"?.mp4")
	want := "./kitchen%20%232/as-filmed/50%25%20%22x%22%3F.mp4"
	if got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

func TestSampleIsLeftToBeLookedAt(t *testing.T) {
	html := writeDocument(t, "en", sample())
	if *keep == "" {
		return
	}
	if err := os.WriteFile(filepath.Join(*keep, "index.html"), []byte(html), 0o644); err != nil {
		t.Fatal(err)
	}
}

func writeDocument(t *testing.T, tag string, d *document.Document) string {
	t.Helper()
	return writeFilms(t, tag, d, Film{File: "video/2291-B.mp4", Cues: []subtitles.Cue{{From: timecode.VideoSeconds(2), To: timecode.VideoSeconds(6), Lines: []string{"1 roots <b>& more"}}}})
}

func writeFilms(t *testing.T, tag string, d *document.Document, films ...Film) string {
	t.Helper()
	l, err := words.For(tag)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	a := account.Of(account.Input{Language: l, Pushes: []account.Push{{Timeline: testpush.Timeline(t, d), Document: d}}, Report: "report.pdf"})
	if err := Write(&b, Input{Account: a, Films: [][]Film{films}}); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func itoa(n int) string { return fmt.Sprint(n) }

func ptr[T any](v T) *T { return &v }

func sample() *document.Document {
	d := &document.Document{Version: 1}
	d.Job = document.Job{Reference: ptr("2291-B"), Date: ptr("2026-03-02"), Zone: "Europe/Lisbon", Units: "m", Language: "en",
		Operator: ptr("R. Almada"), Reason: ptr("slow drain"), Ended: ptr("reached the main"), Cleaned: ptr("jetted"),
		Firm:     &document.Firm{Contact: document.Contact{Name: ptr("Almada & Daughter Drains"), Phone: ptr("000 111 222")}, Licence: ptr("none needed")},
		Customer: &document.Contact{Name: ptr("M. Quintal")}, Site: &document.Site{Address: ptr("14 Cork Oak Lane")},
		Line: document.Line{Name: ptr("kitchen lateral"), From: ptr("rear clean-out"), To: ptr("mainline"), Travel: ptr("downstream"), Size: ptr("100 mm"), Material: ptr("clay")}}
	d.Recording = document.Recording{Duration: 96, Parts: []document.Part{{File: "part1.mp4", Duration: 96}}}
	d.Handover = &document.Handover{Video: ptr("video/2291-B.mp4"), Videos: []document.Video{{File: "video/2291-B.mp4"}}, AsFilmed: []document.AsFilmed{{File: "as-filmed/part1.mp4"}}}
	d.Distance.Basis = ptr("file")
	for s := 0.0; s <= 96; s += 0.5 {
		m := s * 0.21
		if s > 40 && s < 52 {
			m = 40 * 0.21
		} else if s >= 52 {
			m = 40*0.21 + (s-52)*0.24
		}
		d.Distance.Readings = append(d.Distance.Readings, document.Reading{Video: s, Distance: m, Source: "file"})
	}
	add := func(kind, what string, at, dist float64, to, from, until *float64, urgency, note string) {
		n := len(d.Observations) + 1
		d.Observations = append(d.Observations, document.Observation{Number: n, Row: n, Kind: &kind, What: &what, Video: at, Uncertainty: 2,
			Distance: &dist, DistanceTo: to, ClockFrom: from, ClockTo: until, Urgency: opt(urgency), Note: opt(note), Basis: "anchor", TrueTime: ptr("2026-03-02T10:0" + fmt.Sprint(n) + ":11Z"),
			Still: ptr(fmt.Sprintf("stills/%02d_x.jpg", n)), Clip: ptr(fmt.Sprintf("clips/%02d_x.mp4", n))})
	}
	add("line-start", "start of the line", 0.5, 0, nil, nil, nil, "", "")
	add("roots", "roots", 14, 3.1, nil, ptr(10.0), ptr(2.0), "repair", "fine roots through the joint, a third of the bore")
	add("crack", "crack", 22, 4.6, nil, ptr(3.0), ptr(3.0), "watch", "")
	add("offset-joint", "offset joint", 30, 6.2, nil, nil, nil, "at once", "step of 20 mm")
	add("belly", "belly (sag)", 41, 8.4, ptr(11.2), ptr(4.0), ptr(8.0), "repair", "holds water to a third")
	add("connection", "connection", 70, 12.9, nil, ptr(9.5), ptr(9.5), "", "from the bath")
	add("line-end", "end of the line", 95, 18.7, nil, nil, nil, "", "")
	d.Observations[1].Spoken = []document.Spoken{{File: "spoken/02_x.m4a", Duration: 75.5, Clip: ptr("clips/02_x_spoken.mp4")}}
	d.Observations[1].Photos = []string{"photos/02_x.jpg", "photos/02_x_2.jpg"}
	d.Handover.Spoken = []document.Spoken{{File: "spoken/memo #1 50%.m4a", Duration: 3}}
	d.Handover.Photos = []string{"photos/the house.jpg"}
	d.Unplaced = []document.Unplaced{{Row: 8, Cause: "it has neither a time nor a distance"}}
	return d
}

func opt(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}
