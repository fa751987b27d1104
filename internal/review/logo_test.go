package review

import (
	"bytes"
	"encoding/base64"
	"image"
	"image/color"
	"image/png"
	"net/http"
	"os"
	"path/filepath"
	"testing"

	"pushcue/internal/handover"
	"pushcue/internal/job"
)

// logoPicture is a picture of one colour.
func logoPicture(t *testing.T, wide, high int, c color.NRGBA) []byte {
	t.Helper()
	picture := image.NewNRGBA(image.Rect(0, 0, wide, high))
	for i := 0; i < len(picture.Pix); i += 4 {
		copy(picture.Pix[i:], []byte{c.R, c.G, c.B, c.A})
	}
	var b bytes.Buffer
	if err := png.Encode(&b, picture); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestALogoIsChosenOnceForEveryJob(t *testing.T) {
	settings, dir := t.TempDir(), jobFolder(t, demoSheet, demoLog)
	b, end := begin(t, dir, settings)
	t.Cleanup(func() {
		if err := end(); err != nil {
			t.Error(err)
		}
	})
	b.ready()
	choose := func(picture []byte) int {
		t.Helper()
		status, _ := b.post("/api/logo", `{"data":"`+base64.StdEncoding.EncodeToString(picture)+`"}`)
		return status
	}
	kept := filepath.Join(settings, job.ChosenLogo)
	red, blue := color.NRGBA{R: 200, A: 255}, color.NRGBA{B: 200, A: 255}
	for name, picture := range map[string][]byte{"a text": []byte("no picture"), "a dot": logoPicture(t, 3, 3, red), "half a picture": logoPicture(t, 200, 80, red)[:60]} {
		if status := choose(picture); status != http.StatusUnprocessableEntity {
			t.Errorf("%s was taken: %d", name, status)
		}
		if _, err := os.Stat(kept); err == nil {
			t.Fatalf("%s was kept", name)
		}
	}
	if status, _ := b.get("/media/logo"); status != http.StatusNotFound {
		t.Errorf("a logo before there is one: %d", status)
	}

	if status := choose(logoPicture(t, 200, 80, red)); status != http.StatusOK {
		t.Fatal(status)
	}
	status, shown := b.get("/media/logo")
	picture, err := png.Decode(bytes.NewReader(shown))
	if err != nil || status != http.StatusOK || picture.Bounds().Dx() != 200 {
		t.Errorf("%d %v %v", status, picture, err)
	}
	logo := func(s state) any {
		for _, f := range s.Sheet {
			if f.Key == "firm.logo" {
				return f.Value
			}
		}
		return nil
	}
	if got := logo(b.job()); got != job.ChosenLogo {
		t.Errorf("the sheet's logo is %v", got)
	}

	// A job elsewhere has it too; one that names its own keeps that.
	ask := job.Ask{Path: jobFolder(t, demoSheet, ""), Settings: settings}
	visit, err := job.Open(t.Context(), ask)
	if err != nil || handover.Logo(visit.Jobs[0]) == nil {
		t.Errorf("a job that was made elsewhere has no logo: %v", err)
	}
	own := jobFolder(t, demoSheet+"[firm]\nlogo = \"own.png\"\n", "")
	write(t, filepath.Join(own, "own.png"), string(logoPicture(t, 64, 64, blue)))
	visit, err = job.Open(t.Context(), job.Ask{Path: own, Settings: settings})
	if err != nil {
		t.Fatal(err)
	}
	if picture, err = png.Decode(bytes.NewReader(handover.Logo(visit.Jobs[0]))); err != nil || picture.Bounds().Dx() != 64 {
		t.Errorf("a job's own logo gave way to the chosen one: %v", err)
	}

	// Another logo makes a handover out of date.
	if status, text := b.post("/api/make", `{"quick":true,"only":["page"]}`); status != http.StatusAccepted {
		t.Fatalf("%d %s", status, text)
	}
	b.until("the handover", func(s state) bool { return s.Task != nil && s.Task.State != "running" })
	if f := b.finish(""); !f.Made || len(f.Changed) != 0 {
		t.Errorf("%+v", f)
	}
	if status := choose(logoPicture(t, 200, 80, blue)); status != http.StatusOK {
		t.Fatal(status)
	}
	if f := b.finish(""); len(f.Changed) != 1 || f.Changed[0] != "the firm's logo" {
		t.Errorf("%+v", f.Changed)
	}
}
