package main

import (
	"image"
	"image/draw"
	"image/png"
	"path/filepath"
	"strings"
	"testing"
)

// The report that a real run makes, held against qpdf and poppler: sound, its fonts
// in it, its words to be found, and no page of it blank.
func TestThePrintedReportHoldsWhatWasSeen(t *testing.T) {
	t.Parallel()
	d := newDesk(t)
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

func gray(img image.Image) *image.Gray {
	g := image.NewGray(image.Rect(0, 0, img.Bounds().Dx(), img.Bounds().Dy()))
	draw.Draw(g, g.Rect, img, img.Bounds().Min, draw.Src)
	return g
}
