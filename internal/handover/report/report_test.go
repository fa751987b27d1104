package report

import (
	"bytes"
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pushcue/internal/handover/account"
	"pushcue/internal/testpush"
	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

var keep = flag.String("keep", "", "folder to leave a sample report in, to be looked at")

// qpdf and poppler are programs of their own, which judge the file from outside.
func TestOthersReadTheReport(t *testing.T) {
	file := filepath.Join(t.TempDir(), "report.pdf")
	must(t, os.WriteFile(file, write(t, "en", sample(t, 9)), 0o644))
	run(t, "qpdf", "--check", file)
	for _, line := range strings.Split(strings.TrimSpace(run(t, "pdffonts", file)), "\n")[2:] {
		if f := strings.Fields(line); f[len(f)-5] != "yes" {
			t.Errorf("a font isn't embedded: %s", line)
		}
	}
	text := strings.Join(strings.Fields(run(t, "pdftotext", file, "-")), " ")
	for _, want := range []string{"What the camera saw", "kitchen lateral", "Wurzeln größer als gedacht", "at 3 o'clock", "12.5 m", "Licence", "Before anyone digs", "1/6"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q can't be found in the text", want)
		}
	}
	if *keep != "" {
		must(t, os.WriteFile(filepath.Join(*keep, "report.pdf"), write(t, "en", sample(t, 9)), 0o644))
	}
}

func TestSameInputGivesTheSameBytes(t *testing.T) {
	first := write(t, "de", sample(t, 5))
	for range 8 { // what the PDF writer orders by chance would stay the same now and then
		if !bytes.Equal(first, write(t, "de", sample(t, 5))) {
			t.Fatal("two reports of the same input differ")
		}
	}
}

func TestAnyTextIsSet(t *testing.T) {
	for name, s := range map[string]string{
		"beyond the font's plane": "😀 and 𝄞", "not in the font": "漢字 and ꙮ", "turned round": "\u202eabc\u202c عربى", "controls": "a\x00b\x07c",
		"very long": strings.Repeat("remark without an end ", 500), "one endless word": strings.Repeat("x", 10_000), "page mark": "{pages} of {nb}", "brackets": `(((\)`, "invalid": "a\xff\xfeb",
	} {
		t.Run(name, func(t *testing.T) {
			p := sample(t, 2)
			entry, sheet := p.Timeline.Observations[0].Entry, p.Timeline.Sheet
			entry.Note, entry.What.Text, sheet.Line.Name, sheet.Job.Ended = s, s, s, s
			file := filepath.Join(t.TempDir(), "report.pdf")
			must(t, os.WriteFile(file, write(t, "en", p), 0o644))
			run(t, "qpdf", "--check", file)
		})
	}
}

// poppler puts letters back into the order they are read in, so it only finds the
// words where they were drawn from right to left.
func TestTextFromRightToLeftIsDrawnAsItIsRead(t *testing.T) {
	p := sample(t, 2)
	note := "שורשים בחיבור"
	p.Timeline.Observations[0].Entry.Note, p.Timeline.Sheet.Line.Name = note, note
	file := filepath.Join(t.TempDir(), "report.pdf")
	must(t, os.WriteFile(file, write(t, "en", p), 0o644))
	text := run(t, "pdftotext", file, "-")
	for _, word := range strings.Fields(note) {
		if strings.Count(text, word) < 4 {
			t.Errorf("%s is found %d times", word, strings.Count(text, word))
		}
	}
}

func TestTheBoxToSignNeverStandsAlone(t *testing.T) {
	for n := range 14 {
		file := filepath.Join(t.TempDir(), "report.pdf")
		must(t, os.WriteFile(file, write(t, "en", sample(t, n)), 0o644))
		found := false
		for _, page := range strings.Split(run(t, "pdftotext", file, "-"), "\f") {
			if strings.Contains(page, "Name, date, signature") {
				found = strings.Contains(page, "How far this record goes") && strings.Contains(page, "Before anyone digs")
			}
		}
		if !found {
			t.Errorf("%d observations: the box stands on a page of its own, or nowhere", n)
		}
	}
}

func TestAnObservationStaysOnOnePage(t *testing.T) {
	file := filepath.Join(t.TempDir(), "report.pdf")
	must(t, os.WriteFile(file, write(t, "en", sample(t, 40)), 0o644))
	at := "At 0:" // the last line of each; the first names its place
	for i, page := range strings.Split(run(t, "pdftotext", "-layout", file, "-"), "\f") {
		if lines := strings.Fields(page); len(lines) > 1 && strings.HasPrefix(strings.Join(lines[:2], " "), at) {
			t.Errorf("page %d begins with the end of an observation", i+1)
		}
	}
}

func TestEveryLanguageIsWhole(t *testing.T) {
	for _, tag := range words.Tags() {
		file := filepath.Join(t.TempDir(), "report.pdf")
		must(t, os.WriteFile(file, write(t, tag, sample(t, 3)), 0o644))
		if text := run(t, "pdftotext", file, "-"); strings.Contains(text, "[page-") || strings.Contains(text, "[report-") || strings.Contains(text, "[U+") {
			t.Errorf("%s: a text is missing", tag)
		}
	}
}

func TestNoObservationsIsAReportToo(t *testing.T) {
	file := filepath.Join(t.TempDir(), "report.pdf")
	must(t, os.WriteFile(file, write(t, "en", sample(t, 0)), 0o644))
	if text := run(t, "pdftotext", file, "-"); !strings.Contains(text, "no fault was noted") {
		t.Error("it doesn't say that nothing was noted")
	}
}

func BenchmarkReportOf200(b *testing.B) {
	p := sample(b, 200)
	for b.Loop() {
		write(b, "en", p)
	}
}

func write(t testing.TB, tag string, p account.Push) []byte {
	t.Helper()
	l, err := words.For(tag)
	must(t, err)
	var b bytes.Buffer
	must(t, Write(&b, Input{
		Account: account.Of(account.Input{Language: l, Pushes: []account.Push{p}}),
		Made:    time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC),
		Picture: func(name string) (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(still(t, name))), nil },
	}))
	return b.Bytes()
}

var stills = map[string][]byte{}

// still is the picture of a name: each another one, of the same size, encoded once.
func still(t testing.TB, name string) []byte {
	t.Helper()
	if stills[name] == nil {
		img := image.NewGray(image.Rect(0, 0, 640, 420))
		for i := range img.Pix {
			img.Pix[i] = uint8(i / 640)
		}
		img.Set(1, 1, color.Gray{uint8(len(name) * int(name[len(name)-5]))})
		var b bytes.Buffer
		must(t, jpeg.Encode(&b, img, &jpeg.Options{Quality: 100}))
		stills[name] = b.Bytes()
	}
	return stills[name]
}

func run(t *testing.T, name string, args ...string) string {
	t.Helper()
	out, err := exec.Command(name, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%s", name, err, out)
	}
	return string(out)
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// sample is a push with n observations.
func sample(t testing.TB, n int) account.Push {
	t.Helper()
	sheet := jobsheet.Default()
	sheet.Job = jobsheet.Job{Reference: "2291-B", Date: jobsheet.Date{Year: 2026, Month: time.March, Day: 2}, Units: distance.Metre, Language: "en", Ended: "reached the main"}
	sheet.Firm = jobsheet.Firm{Contact: jobsheet.Contact{Name: "Almada & Daughter Drains"}, Licence: "X-17"}
	sheet.Line = jobsheet.Line{Name: "kitchen lateral", From: "rear clean-out", To: "mainline", Travel: "downstream"}
	kinds := []string{"roots", "crack", "offset-joint", "belly", "connection"}
	urgencies := []fieldlog.Urgency{fieldlog.UrgencyRepair, fieldlog.UrgencyWatch, fieldlog.UrgencyAtOnce, fieldlog.UrgencyNone}
	made := account.Made{Stills: map[int]account.Still{}}
	var seen []timeline.Observation
	for i := range n {
		at := float64(i%12 + 1)
		if i%5 == 2 {
			at = 3
		}
		seen = append(seen, timeline.Observation{Video: timecode.VideoSeconds(float64(10 * i)), Uncertainty: 2 * time.Second, Basis: timeline.ByAnchor,
			Entry: &fieldlog.Row{What: fieldlog.Kind{Key: kinds[i%len(kinds)], Text: strings.ReplaceAll(kinds[i%len(kinds)], "-", " ")}, Note: "Wurzeln größer als gedacht",
				Distance: testpush.Length(2.5 * distance.Metres(i+1)), Urgency: urgencies[i%len(urgencies)], Clock: &fieldlog.ClockSpan{From: at, To: at}}})
		made.Stills[i+1] = account.Still{File: fmt.Sprintf("stills/%02d.jpg", i+1)}
	}
	line := testpush.Timeline(t, sheet, nil, seen)
	line.Recording.End = timecode.VideoSeconds(600)
	return account.Push{Timeline: line, Made: made}
}
