package page

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pushcue/internal/handover/account"
	"pushcue/internal/testpush"
	"pushcue/subtitles"
	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
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
	p := sample(t)
	for i, s := range nasty {
		at := distance.Metres(1 + i)
		p.Timeline.Observations = append(p.Timeline.Observations, timeline.Observation{Number: 10 + i, Row: 10 + i, Distance: &at,
			Entry: &fieldlog.Row{What: fieldlog.Kind{Text: s}, Note: s}})
	}
	sheet := p.Timeline.Sheet
	sheet.Line.Name, sheet.Job.Ended, sheet.Job.Operator = nasty[0], nasty[1], nasty[2]
	html := writePage(t, "en", p)
	for _, live := range []string{`<script>document`, `<img src=x`, `<b>bold`, `href="javascript`} {
		if strings.Contains(html, live) {
			t.Errorf("%q stands in the page as code", live)
		}
	}
}

func TestPageAsksNothingOfANetwork(t *testing.T) {
	html := writePage(t, "en", sample(t))
	for _, remote := range []string{"http://", "https://", `src="//`, "@import", "url("} {
		if strings.Contains(html, remote) {
			t.Errorf("the page names %q", remote)
		}
	}
}

func TestEveryLanguageSaysEverything(t *testing.T) {
	for _, tag := range words.Tags() {
		html := writePage(t, tag, sample(t))
		if strings.Contains(html, "[page-") || strings.Contains(html, "%!") {
			at := strings.Index(html, "[page-")
			t.Errorf("%s: a text is missing or misfilled near %q", tag, html[max(at-40, 0):max(at, 0)+60])
		}
	}
}

func TestNoDefectIsACompleteAnswer(t *testing.T) {
	p := sample(t)
	p.Timeline.Observations, p.Timeline.Unplaced = nil, nil
	if html := writePage(t, "en", p); !strings.Contains(html, "The log holds no entry: no fault was noted.") {
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
	html := writePage(t, "en", sample(t))
	if *keep == "" {
		return
	}
	if err := os.WriteFile(filepath.Join(*keep, "index.html"), []byte(html), 0o644); err != nil {
		t.Fatal(err)
	}
}

func writePage(t *testing.T, tag string, p account.Push) string {
	t.Helper()
	return writeFilms(t, tag, p, Film{File: "video/2291-B.mp4", Cues: []subtitles.Cue{{From: timecode.VideoSeconds(2), To: timecode.VideoSeconds(6), Lines: []string{"1 roots <b>& more"}}}})
}

func writeFilms(t *testing.T, tag string, p account.Push, films ...Film) string {
	t.Helper()
	l, err := words.For(tag)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	a := account.Of(account.Input{Language: l, Pushes: []account.Push{p}, Report: "report.pdf"})
	if err := Write(&b, Input{Account: a, Films: [][]Film{films}}); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func itoa(n int) string { return fmt.Sprint(n) }

// sample is a push with everything that a page shows.
func sample(t *testing.T) account.Push {
	t.Helper()
	sheet := jobsheet.Default()
	sheet.Job = jobsheet.Job{Reference: "2291-B", Date: jobsheet.Date{Year: 2026, Month: time.March, Day: 2}, Zone: time.UTC, Units: distance.Metre, Language: "en",
		Operator: "R. Almada", Reason: "slow drain", Ended: "reached the main", Cleaned: "jetted"}
	sheet.Firm = jobsheet.Firm{Contact: jobsheet.Contact{Name: "Almada & Daughter Drains", Phone: "000 111 222"}, Licence: "none needed"}
	sheet.Customer, sheet.Site = jobsheet.Contact{Name: "M. Quintal"}, jobsheet.Site{Address: "14 Cork Oak Lane"}
	sheet.Line = jobsheet.Line{Name: "kitchen lateral", From: "rear clean-out", To: "mainline", Travel: "downstream", Size: "100 mm", Material: "clay"}
	var readings []distance.Reading
	for s := 0.0; s <= 96; s += 0.5 {
		m := s * 0.21
		if s > 40 && s < 52 {
			m = 40 * 0.21
		} else if s >= 52 {
			m = 40*0.21 + (s-52)*0.24
		}
		readings = append(readings, distance.Reading{At: timecode.VideoSeconds(s), Shown: distance.Metres(m), Source: distance.FromFile})
	}
	made := account.Made{
		Videos: []account.Film{{File: "video/2291-B.mp4"}}, AsFilmed: []account.Film{{File: "as-filmed/part1.mp4"}},
		Stills: map[int]account.Still{}, Clips: map[int]string{},
		Spoken: map[int][]account.Note{
			2: {{File: "spoken/02_x.m4a", Length: 75500 * time.Millisecond, Clip: "clips/02_x_spoken.mp4"}}, 0: {{File: "spoken/memo #1 50%.m4a", Length: 3 * time.Second}}},
		Photos: map[int][]string{2: {"photos/02_x.jpg", "photos/02_x_2.jpg"}, 0: {"photos/the house.jpg"}},
	}
	var seen []timeline.Observation
	add := func(kind, what string, at float64, dist distance.Metres, to *distance.Length, clock *fieldlog.ClockSpan, urgency fieldlog.Urgency, note string) {
		n := len(seen) + 1
		seen = append(seen, timeline.Observation{Video: timecode.VideoSeconds(at), Uncertainty: 2 * time.Second, Basis: timeline.ByAnchor,
			Entry: &fieldlog.Row{What: fieldlog.Kind{Key: kind, Text: what}, Distance: testpush.Length(dist), To: to, Clock: clock, Urgency: urgency, Note: note}})
		made.Stills[n], made.Clips[n] = account.Still{File: fmt.Sprintf("stills/%02d_x.jpg", n)}, fmt.Sprintf("clips/%02d_x.mp4", n)
	}
	span := func(from, to float64) *fieldlog.ClockSpan { return &fieldlog.ClockSpan{From: from, To: to} }
	add("line-start", "start of the line", 0.5, 0, nil, nil, "", "")
	add("roots", "roots", 14, 3.1, nil, span(10, 2), fieldlog.UrgencyRepair, "fine roots through the joint, a third of the bore")
	add("crack", "crack", 22, 4.6, nil, span(3, 3), fieldlog.UrgencyWatch, "")
	add("offset-joint", "offset joint", 30, 6.2, nil, nil, fieldlog.UrgencyAtOnce, "step of 20 mm")
	add("belly", "belly (sag)", 41, 8.4, testpush.Length(11.2), span(4, 8), fieldlog.UrgencyRepair, "holds water to a third")
	add("connection", "connection", 70, 12.9, nil, span(9.5, 9.5), "", "from the bath")
	add("line-end", "end of the line", 95, 18.7, nil, nil, "", "")
	line := testpush.Timeline(t, sheet, readings, seen, fieldlog.Row{})
	line.Recording.End = timecode.VideoSeconds(96)
	return account.Push{Timeline: line, Made: made}
}
