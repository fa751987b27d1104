package main

import (
	"image"
	"image/draw"
	"image/png"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"pushcue/internal/testfootage"
)

// The report that a real run makes, held against qpdf and poppler: sound, its fonts
// in it, its words to be found, and no page of it blank.
func TestThePrintedReportHoldsWhatWasSeen(t *testing.T) {
	d := desk{t, runner(t), filepath.Join(t.TempDir(), "job")}
	copyTo(t, testfootage.Numbered(t, testfootage.Spec{Frames: 150}), filepath.Join(d.job, "part1.mp4"))
	writeTo(t, filepath.Join(d.job, "log.csv"), "video,distance,what,clock,urgency,note\n"+
		"0:01,1.0 m,roots,9-3,repair,\"half the bore, größer als früher\"\n"+
		"0:02,1.5 m,crack,12,watch,\"<b>hairline</b> & dry\"\n"+
		"0:03,2.0 m,standing water,,none,to 2.6 m\n"+
		"0:04,2.5 m,offset joint,6,at once,15 mm\n"+
		"0:05,3.0 m,grease,,,\n")
	writeTo(t, filepath.Join(d.job, "job.toml"), "[job]\nreference = \"2291-B\"\ndate = 2026-03-02\nzone = \"Europe/Lisbon\"\n"+
		"[firm]\nname = \"Alder Drains\"\n[site]\naddress = \"2 Hill Road\"\n[line]\nname = \"kitchen lateral\"\n")
	d.run(0, "make", "--quick", d.job)
	pdf := filepath.Join(d.handover(), "report.pdf")

	tool(t, "qpdf", "--check", pdf)
	fonts := strings.Split(strings.TrimSpace(tool(t, "pdffonts", pdf)), "\n")
	if len(fonts) < 3 {
		t.Errorf("no fonts: %q", fonts)
	}
	for _, font := range fonts[2:] { // after the two lines of the table's head
		if fields := strings.Fields(font); len(fields) < 5 || fields[len(fields)-5] != "yes" {
			t.Errorf("not in the file: %s", font)
		}
	}
	text := strings.Join(strings.Fields(tool(t, "pdftotext", "-layout", pdf, "-")), " ")
	for _, want := range []string{
		"Alder Drains", "2 Hill Road", "kitchen lateral", "2291-B",
		"roots", "1.0 m", "half the bore, größer als früher", "crack", "1.5 m", "<b>hairline</b> & dry",
		"standing water", "2.0 m", "to 2.6 m", "offset joint", "2.5 m", "15 mm", "grease", "3.0 m",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("%q isn't found in the report", want)
		}
	}
	pages := t.TempDir()
	tool(t, "pdftoppm", "-r", "40", "-gray", "-png", pdf, filepath.Join(pages, "page"))
	all := listing(t, pages)
	if len(all) < 2 {
		t.Errorf("%d pages", len(all))
	}
	for _, name := range all {
		img, err := png.Decode(strings.NewReader(read(t, filepath.Join(pages, name))))
		must(t, err)
		g, ink := gray(img), 0
		for _, v := range g.Pix {
			if v < 128 {
				ink++
			}
		}
		if ink < len(g.Pix)/500 {
			t.Errorf("%s is blank", name)
		}
	}
}

func tool(t *testing.T, name string, args ...string) string {
	t.Helper()
	out, err := exec.Command(name, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v (scripts/test installs what is missing)\n%s", name, err, out)
	}
	return string(out)
}

func gray(img image.Image) *image.Gray {
	g := image.NewGray(image.Rect(0, 0, img.Bounds().Dx(), img.Bounds().Dy()))
	draw.Draw(g, g.Rect, img, img.Bounds().Min, draw.Src)
	return g
}
