package report

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pushcue/internal/handover/account"
	"pushcue/timeline/words"
)

// pictured are a report's pictures by path: no two alike, of several sizes, grey and
// in colour.
func pictured(t *testing.T, n int) map[string][]byte {
	t.Helper()
	all := map[string][]byte{}
	for i := range n {
		bounds := image.Rect(0, 0, 64+8*i, 48)
		var img image.Image
		if i%3 == 0 {
			grey := image.NewGray(bounds)
			grey.Set(i, i, color.White)
			img = grey
		} else {
			full := image.NewRGBA(bounds)
			full.Set(i, i, color.RGBA{R: 255, A: 255})
			img = full
		}
		var b bytes.Buffer
		must(t, jpeg.Encode(&b, img, nil))
		all[fmt.Sprintf("stills/%02d.jpg", i+1)] = b.Bytes()
	}
	return all
}

func reportOf(t *testing.T, n int, open func(path string) io.Reader, logo []byte) ([]byte, error) {
	t.Helper()
	l, err := words.For("en")
	must(t, err)
	var b bytes.Buffer
	err = Write(&b, Input{
		Account: account.Of(account.Input{Language: l, Pushes: []account.Push{sample(t, n)}}), Logo: logo,
		Picture: func(path string) (io.ReadCloser, error) { return io.NopCloser(open(path)), nil },
	})
	return b.Bytes(), err
}

// Poppler takes the pictures out as they lie in the file; qpdf follows the table of
// its objects.
func TestEachPictureLiesInTheReportAsItIs(t *testing.T) {
	const n = 11
	pictures := pictured(t, n)
	logo := pictures["stills/01.jpg"]
	pdf, err := reportOf(t, n, func(path string) io.Reader { return bytes.NewReader(pictures[path]) }, logo)
	must(t, err)
	dir := t.TempDir()
	file := filepath.Join(dir, "report.pdf")
	must(t, os.WriteFile(file, pdf, 0o644))
	run(t, "qpdf", "--check", file)
	if listed := run(t, "qpdf", "--show-xref", file); strings.Contains(listed, "damaged") {
		t.Error(listed)
	}
	run(t, "pdfimages", "-all", file, filepath.Join(dir, "out"))
	out, err := filepath.Glob(filepath.Join(dir, "out-*.jpg"))
	must(t, err)
	slices.Sort(out)
	if len(out) != n+1 {
		t.Fatalf("%d pictures of %d and a logo", len(out), n)
	}
	for i, path := range out[1:] {
		got, err := os.ReadFile(path)
		must(t, err)
		if want := pictures[fmt.Sprintf("stills/%02d.jpg", i+1)]; sha256.Sum256(got) != sha256.Sum256(want) {
			t.Errorf("picture %d isn't the one that was to be shown there", i+1)
		}
	}
}

func TestAPictureThatChangesMeanwhileSpoilsTheReport(t *testing.T) {
	pictures := pictured(t, 1)
	opened := 0
	_, err := reportOf(t, 1, func(path string) io.Reader {
		opened++
		return bytes.NewReader(pictures[path][:len(pictures[path])-opened/2])
	}, nil)
	if err == nil {
		t.Error("a report with half a picture was called whole")
	}
}
