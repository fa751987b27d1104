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
	"pushcue/timeline/document"
	"pushcue/timeline/words"
)

var keep = flag.String("keep", "", "folder to leave a sample report in, to be looked at")

// qpdf and poppler are programs of their own, which judge the file from outside.
func TestOthersReadTheReport(t *testing.T) {
	file := filepath.Join(t.TempDir(), "report.pdf")
	must(t, os.WriteFile(file, write(t, "en", sample(9)), 0o644))
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
		must(t, os.WriteFile(filepath.Join(*keep, "report.pdf"), write(t, "en", sample(9)), 0o644))
	}
}

func TestSameInputGivesTheSameBytes(t *testing.T) {
	first := write(t, "de", sample(5))
	for range 8 { // what the PDF writer orders by chance would stay the same now and then
		if !bytes.Equal(first, write(t, "de", sample(5))) {
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
			d := sample(2)
			d.Observations[0].Note, d.Observations[0].What, d.Job.Line.Name, d.Job.Ended = &s, &s, &s, &s
			file := filepath.Join(t.TempDir(), "report.pdf")
			must(t, os.WriteFile(file, write(t, "en", d), 0o644))
			run(t, "qpdf", "--check", file)
		})
	}
}

// poppler puts letters back into the order they are read in, so it only finds the
// words where they were drawn from right to left.
func TestTextFromRightToLeftIsDrawnAsItIsRead(t *testing.T) {
	d := sample(2)
	note := "שורשים בחיבור"
	d.Observations[0].Note, d.Job.Line.Name = &note, &note
	file := filepath.Join(t.TempDir(), "report.pdf")
	must(t, os.WriteFile(file, write(t, "en", d), 0o644))
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
		must(t, os.WriteFile(file, write(t, "en", sample(n)), 0o644))
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
	must(t, os.WriteFile(file, write(t, "en", sample(40)), 0o644))
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
		must(t, os.WriteFile(file, write(t, tag, sample(3)), 0o644))
		if text := run(t, "pdftotext", file, "-"); strings.Contains(text, "[page-") || strings.Contains(text, "[report-") || strings.Contains(text, "[U+") {
			t.Errorf("%s: a text is missing", tag)
		}
	}
}

func TestNoObservationsIsAReportToo(t *testing.T) {
	file := filepath.Join(t.TempDir(), "report.pdf")
	must(t, os.WriteFile(file, write(t, "en", sample(0)), 0o644))
	if text := run(t, "pdftotext", file, "-"); !strings.Contains(text, "no fault was noted") {
		t.Error("it doesn't say that nothing was noted")
	}
}

func BenchmarkReportOf200(b *testing.B) {
	d := sample(200)
	for b.Loop() {
		write(b, "en", d)
	}
}

func write(t testing.TB, tag string, d *document.Document) []byte {
	t.Helper()
	l, err := words.For(tag)
	must(t, err)
	var b bytes.Buffer
	must(t, Write(&b, Input{
		Account: account.Of(account.Input{Language: l, Pushes: []account.Push{{Timeline: testpush.Timeline(t, d), Document: d}}}),
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

func ptr[T any](v T) *T { return &v }

// sample is a push with n observations.
func sample(n int) *document.Document {
	d := &document.Document{Version: 1}
	d.Job = document.Job{Reference: ptr("2291-B"), Date: ptr("2026-03-02"), Units: "m", Language: "en", Ended: ptr("reached the main"),
		Firm: &document.Firm{Contact: document.Contact{Name: ptr("Almada & Daughter Drains")}, Licence: ptr("X-17")},
		Line: document.Line{Name: ptr("kitchen lateral"), From: ptr("rear clean-out"), To: ptr("mainline"), Travel: ptr("downstream")}}
	d.Recording.Duration = 600
	kinds := []string{"roots", "crack", "offset-joint", "belly", "connection"}
	urgencies := []string{"repair", "watch", "at once", "none"}
	for i := range n {
		o := document.Observation{Number: i + 1, Row: i + 1, Kind: &kinds[i%len(kinds)], What: ptr(strings.ReplaceAll(kinds[i%len(kinds)], "-", " ")),
			Video: float64(10 * i), Uncertainty: 2, Distance: ptr(2.5 * float64(i+1)), Urgency: &urgencies[i%4], Note: ptr("Wurzeln größer als gedacht"), Basis: "anchor",
			ClockFrom: ptr(float64(i%12 + 1)), Still: ptr(fmt.Sprintf("stills/%02d.jpg", i+1))}
		if i%5 == 2 {
			o.ClockFrom, o.ClockTo = ptr(3.0), ptr(3.0)
		}
		d.Observations = append(d.Observations, o)
	}
	return d
}
