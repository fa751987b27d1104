package review_test

import (
	"os"
	"path/filepath"
	"testing"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/review"
	"pushcue/internal/testbrowser"
	"pushcue/internal/testfootage"
)

// The counter that was read off the picture is looked at once: right, or elsewhere.
func TestTheCounterIsConfirmedOrShownItsPlace(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "counter")
	if err := os.Mkdir(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	tools, err := review.FindTools(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	// As much of the demo's second part as it takes to read its counter.
	demo, err := filepath.Abs("../../testdata/demo/tramo2.mp4")
	if err != nil {
		t.Fatal(err)
	}
	short := ffmpeg.Run{Args: []string{"-t", "6", "-i", "file:" + demo, "-an", "-c", "copy", "file:" + filepath.Join(folder, "part.mp4")}}
	short.Sources = testfootage.Inputs(short.Args)
	if _, err := tools.Do(t.Context(), short); err != nil {
		t.Fatal(err)
	}
	put(t, filepath.Join(folder, "job.toml"), "[job]\nzone = \"Europe/Madrid\"\nunits = \"m\"\n")
	p := open(t, folder)
	p.press("To settle")
	counter := func(is string) string { return `import("/page/store.js").then(({store: {job: j}}) => ` + is + `)` }
	p.Until(counter(`j.counter.state === "found" && !j.counter.confirmed`))
	p.Until(`document.querySelector("#counter img.sheet").naturalWidth > 100`)
	p.Accessible(axe)
	if *keep != "" {
		p.Size(1024, 1300)
		put(t, filepath.Join(*keep, "counter.png"), string(p.Window()))
		p.Size(1024, 768)
	}
	p.saved(func() { p.press("Yes, read right") })
	p.Until(counter(`j.counter.confirmed`))
	p.saved(func() { p.press("Undo") })

	p.press("The box is here")
	p.Until(`document.querySelector("dialog[open] img").naturalWidth > 0 && document.querySelector(".over").viewBox.baseVal.width > 0`)
	p.Stroke(".over", [2]float64{0.02, 0.84}, [2]float64{0.2, 0.9}, [2]float64{0.34, 0.96})
	p.saved(func() { p.press("Read it there") })
	box := testbrowser.Ask[[]int](p.Browser, counter(`j.sheet.find(f => f.key === "counter.look").value`))
	wide := testbrowser.Ask[int](p.Browser, counter(`j.recording.width`))
	if len(box) != 4 || box[0] < wide/100 || box[0] > wide/33 || box[2] < wide*30/100 || box[2] > wide*34/100 {
		t.Errorf("the box drawn over the left third is %v of a picture %d wide", box, wide)
	}
	p.saved(func() { p.press("No, there is no counter") })
	p.Until(counter(`j.counter.state === "off"`))
}
