package handover

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pushcue/internal/testfootage"
	"pushcue/overlay"
	"pushcue/timeline/timecode"
)

func TestTheFastestSettingThatKeepsQualityAndSizeIsChosen(t *testing.T) {
	good := func(size float64) figures { return figures{0.99, 0.97, size} }
	for name, c := range map[string]struct {
		most   float64
		try    func(setting) figures
		want   setting
		trials int // at most
	}{
		"the first will do":                   {1, func(setting) figures { return good(0.6) }, setting{"ultrafast", 21, 0}, 1},
		"a size near the limit is held to it": {1, func(setting) figures { return good(0.9) }, setting{"ultrafast", 21, 1}, 1},
		"too large at first":                  {1, func(s setting) figures { return good(1.3 * math.Exp2(float64(21-s.CRF)/6.3)) }, setting{"ultrafast", 24, 1}, 2},
		"not good enough at first": {1, func(s setting) figures {
			return figures{0.985 + float64(18-s.CRF)/1000, 0.97, 0.5}
		}, setting{"ultrafast", 18, 0}, 2},
		"the frames at the bottom count too": {1, func(s setting) figures {
			return figures{0.99, 0.96 + float64(18-s.CRF)/1000, 0.5}
		}, setting{"ultrafast", 18, 0}, 2},
		"quality and size together need a slower preset": {1, func(s setting) figures {
			f := good(2 * math.Exp2(float64(21-s.CRF)/6.3))
			if s.Preset == "ultrafast" && s.CRF > 22 {
				f.Worst = 0.95
			}
			return f
		}, setting{"superfast", 28, 1}, 3},
		"quality comes before size": {1, func(s setting) figures {
			f := good(5 - float64(s.CRF)/100)
			if s.Preset != "superfast" {
				f.Mean = 0.9
			}
			return f
		}, setting{"superfast", 30, mostTimes}, 5},
		"nothing is good enough": {1, func(s setting) figures { return figures{0.9 - float64(s.CRF)/1000, 0.97, 0.5} }, setting{"ultrafast", 15, mostTimes}, 9},
	} {
		tried := 0
		got, err := fastest(c.most, func(s setting) (figures, error) { tried++; return c.try(s), nil })
		if err != nil || got.setting != c.want || tried > c.trials {
			t.Errorf("%s: %+v after %d trials, %v, want %+v", name, got, tried, err, c.want)
		}
	}
}

// x264's rate control with a limit gives other bytes in each run where several threads take
// part in it; without one, the bytes hang on the number of threads alone.
func TestEverySettingHasItsNumberOfThreads(t *testing.T) {
	for _, preset := range presets {
		for most, want := range map[float64]string{0: "8", 1: "1", mostTimes: "1"} {
			b := &burn{rec: recorded(250, nil), encoder: "libx264", setting: setting{preset, 21, most}, bytes: 1 << 20}
			a := b.settings(&encode{layout: &overlay.Layout{Width: 640, Height: 585, Level: "4.1"}})
			if _, limited := a["maxrate"]; a["threads:v"] != want || limited != (most > 0) {
				t.Errorf("%s, at most %v: %v", preset, most, a)
			}
		}
	}
}

func TestATrialLooksAtTheBusiestAndTheQuietestStretch(t *testing.T) {
	weights := []int64{9, 9, 1, 9, 9, 9, 9, 99, 9, 9, 9, 9, 0}
	if got := telling(weights); !slices.Equal(got, []int{2, 6, 7, 10}) {
		t.Errorf("got %v", got)
	}
	if got := telling([]int64{5}); !slices.Equal(got, []int{0}) {
		t.Errorf("of one stretch: %v", got)
	}
}

// A recording that a trial pays for: its setting is measured, kept, and taken from what is
// kept unless a stranger wrote that. The same job gives the same bytes.
func TestTheSettingIsMeasuredOnceAndKept(t *testing.T) {
	long := testfootage.Numbered(t, testfootage.Spec{Frames: 310, Width: 160, Height: 120, Rate: timecode.Rate{Num: 5, Den: 1}})
	dir := jobOf(t, noCounter, "", long)
	only := Options{Only: []string{"video"}}
	made := makeJob(t, dir, only)
	video := filepath.Join(made.Out, "video", "job.mp4")
	first := content(t, video)
	work := filepath.Join(dir, "work")
	kept := filepath.Join(work, trialName)
	var k keptChoice
	if err := json.Unmarshal([]byte(content(t, kept)), &k); err != nil || k.Choice.Tried == 0 || k.Choice.Measured.Mean < 0.5 || k.Choice.Measured.Size <= 0 {
		t.Fatalf("kept %+v, %v", k, err)
	}
	if record := content(t, filepath.Join(work, "handover.record")); !strings.Contains(record, k.Choice.sentence().String()) {
		t.Errorf("the record doesn't tell %q: %s", k.Choice.sentence(), record)
	}

	if err := os.Remove(video); err != nil {
		t.Fatal(err)
	}
	forged := k
	forged.Choice.CRF = 51
	text, err := json.Marshal(forged)
	if err != nil {
		t.Fatal(err)
	}
	overwrite(t, kept, string(text))
	makeJob(t, dir, only)
	var again keptChoice
	if err := json.Unmarshal([]byte(content(t, kept)), &again); err != nil || again != k {
		t.Errorf("a forged choice gave %+v, want %+v", again, k)
	}
	if content(t, video) != first {
		t.Error("the same job gave other bytes")
	}
}
