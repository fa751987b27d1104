package handover

import (
	"context"
	"encoding/json"
	"fmt"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"pushcue/internal/footage"
	"pushcue/internal/job"
	"pushcue/internal/placing"
	"pushcue/internal/progress"
	"pushcue/internal/soak"
	"pushcue/internal/testfootage"
	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// steps remembers which steps a run went through.
type steps struct {
	progress.Quiet
	names []string
}

func (s *steps) Step(name words.Sentence, _ float64) { s.names = append(s.names, name.String()) }

func placeJob(t *testing.T, dir string, o placing.PlaceOptions) (*placing.Placed, *steps) {
	t.Helper()
	visit, err := job.Open(context.Background(), job.Ask{Path: dir})
	if err != nil {
		t.Fatal(err)
	}
	s := &steps{}
	o.Progress = s
	placed, err := placing.Place(context.Background(), realTools(t), visit.Jobs[0], o)
	if err != nil {
		t.Fatal(err)
	}
	return placed, s
}

// demoPart is a push with a counter in its picture and no other track, and what the
// counter showed in each frame.
func demoPart(t *testing.T) (path string, shown []float64) {
	t.Helper()
	path, err := filepath.Abs("../../testdata/demo/tramo1.mp4")
	if err != nil {
		t.Fatal(err)
	}
	var truth struct{ Frames []struct{ Shown string } }
	text, err := os.ReadFile("../../testdata/demo-truth.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &truth); err != nil {
		t.Fatal(err)
	}
	for _, f := range truth.Frames {
		v, err := strconv.ParseFloat(strings.TrimSuffix(f.Shown, "m"), 64)
		if err != nil {
			v = math.NaN()
		}
		shown = append(shown, v)
	}
	return path, shown
}

const counted = "[job]\nzone = \"UTC\"\n[counter]\nunit = \"m\"\n"

func TestCounterIsReadOnceAndPlaces(t *testing.T) {
	t.Parallel()
	video, shown := demoPart(t)
	dir := jobOf(t, counted+"[captions]\nstrip = \"over\"\n", "distance;what\n2.8;grease\n8.7;crack\n", video)
	p, first := placeJob(t, dir, placing.PlaceOptions{})
	if !slices.Contains(first.names, "reading the counter") {
		t.Errorf("steps %q, want one that says the counter is being read", first.names)
	}
	showsWhatWasShown(t, p, shown)
	if len(p.Timeline.Observations) != 2 || !p.Open() {
		t.Errorf("placed %+v, open %v; want both rows and something left open", p.Timeline.Observations, p.Open())
	}
	for _, o := range p.Timeline.Observations {
		if o.Basis != timeline.ByDistance || !o.Unconfirmed {
			t.Errorf("row %d by %s, unconfirmed %v", o.Row, o.Basis, o.Unconfirmed)
		}
	}
	isASheet(t, p.CounterSheet)
	captionsKeepClear(t, p)

	// The sheet is drawn again where it's gone, and nothing is read again.
	if err := os.Remove(p.CounterSheet); err != nil {
		t.Fatal(err)
	}
	again := findsTheLogsClock(t, dir, shown)
	isASheet(t, again.CounterSheet)
	if a, b := len(p.Timeline.Track.Readings()), len(again.Timeline.Track.Readings()); a != b {
		t.Errorf("%d readings, the second time %d", a, b)
	}
}

// findsTheLogsClock gives the job a log with times that nothing ties to the recording:
// what was read off the pictures before finds its clock.
func findsTheLogsClock(t *testing.T, dir string, shown []float64) *placing.Placed {
	t.Helper()
	began := time.Date(2026, 4, 14, 10, 2, 11, 0, time.UTC)
	log := "time;distance;what\n"
	for _, seen := range []float64{9, 12.4, 15.5, 19.7, 21.2, 24, 28, 31.3, 34, 37.6, 39.2, 42} {
		log += fmt.Sprintf("%s;%.1f m;crack\n", began.Add(time.Duration((seen+0.7)*1e9)).Format(time.TimeOnly), shown[int(seen*25)])
	}
	if err := os.WriteFile(filepath.Join(dir, "log.csv"), []byte(log), 0o644); err != nil {
		t.Fatal(err)
	}
	sheet := strings.Replace(counted, "[job]", "[job]\ndate = 2026-04-14", 1)
	if err := os.WriteFile(filepath.Join(dir, "job.toml"), []byte(sheet), 0o644); err != nil {
		t.Fatal(err)
	}
	p, s := placeJob(t, dir, placing.PlaceOptions{})
	if len(s.names) > 0 {
		t.Errorf("another log: steps %q", s.names)
	}
	if len(p.Timeline.Agreements) != 1 || !p.Timeline.Agreements[0].Sure {
		t.Fatalf("the log's clock wasn't found: %+v", p.Timeline.Agreements)
	}
	l, half, _ := p.Timeline.Clock.Log(0)
	if off := l.Sub(timecode.LogAt(began)); off.Abs() > 3*time.Second || half > 5*time.Second {
		t.Errorf("the log's clock is off by %v ± %v", off, half)
	}
	why, _ := p.Timeline.Explain(3)
	for _, part := range []string{"agreement with the distance", "rows bear it out", "The on-screen counter showed", "Nobody has confirmed"} {
		if !strings.Contains(words.Join(why, words.Comma).String(), part) {
			t.Errorf("it isn't told that %q: %q", part, why)
		}
	}
	return p
}

// showsWhatWasShown holds the track against the painter's truth: at 99 of 100 frames
// where it claims a number it is within one step of the display (of three frames, since
// it goes on between two), and never off by more than 0.3 m.
func showsWhatWasShown(t *testing.T, p *placing.Placed, shown []float64) {
	t.Helper()
	claims, near, worst := 0, 0, 0.0
	for i, v := range p.Recording.Times {
		point := p.Timeline.Track.At(v)
		if point.State < distance.Filled {
			continue
		}
		claims++
		off := math.Inf(1)
		for k := max(0, i-3); k <= min(i+3, len(p.Recording.Times)-1); k++ {
			off = min(off, math.Abs(shown[k]-float64(point.Metres)))
		}
		if off <= 0.101 {
			near++
		}
		worst = max(worst, off)
	}
	t.Logf("claimed at %d of %d frames, within a step at %d, off by %.2f m at most", claims, len(p.Recording.Times), near, worst)
	if claims*10 < len(p.Recording.Times)*8 || near*100 < claims*99 || worst > 0.3 {
		t.Errorf("claimed at %d of %d frames, within a step at %d, off by %.2f m at most", claims, len(p.Recording.Times), near, worst)
	}
}

func isASheet(t *testing.T, path string) {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if c, err := png.DecodeConfig(f); err != nil || c.Width != 1000 {
		t.Errorf("%s: %d pixels wide (%v), want 1000", path, c.Width, err)
	}
}

// captionsKeepClear asks where captions would go over the picture.
func captionsKeepClear(t *testing.T, p *placing.Placed) {
	t.Helper()
	m := &making{job: p.Job, placed: p}
	var err error
	if m.lang, err = words.For("en"); err != nil {
		t.Fatal(err)
	}
	m.layOut()
	areas := p.BurnedIn()
	if len(areas) < 2 {
		t.Errorf("writing was found in %v, want the counter and the clock", areas)
	}
	for _, a := range areas {
		if m.captions.video.Place.Ground.Overlaps(a) {
			t.Errorf("the caption at %v hides what is written at %v", m.captions.video.Place.Ground, a)
		}
	}
}

func TestCounterIsNotLookedForInVain(t *testing.T) {
	t.Parallel()
	video := plain(t)
	off := strings.Replace(counted, "unit", "look = \"off\"\nunit", 1)
	for name, dir := range map[string]string{
		"left out":             jobOf(t, off, "distance;what\n2.8;grease\n", video),
		"readings there are":   withReadings(t, jobOf(t, counted+"[distance]\nreadings = \"counter.csv\"\n", "distance;what\n2.8;grease\n", video)),
		"a person in a hurry!": jobOf(t, counted, "distance;what\n2.8;grease\n", video),
	} {
		p, s := placeJob(t, dir, placing.PlaceOptions{Quick: strings.HasSuffix(name, "!")})
		if len(s.names) > 0 || p.CounterSheet != "" || p.Seen.Counters() != nil {
			t.Errorf("%s: steps %q, sheet %q", name, s.names, p.CounterSheet)
		}
	}
}

func withReadings(t *testing.T, dir string) string {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, "counter.csv"), []byte("video;distance\n0:05;1.0\n0:15;2.8\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	return dir
}

// filmed paints a few seconds of a push with a recorder's marks.
func filmed(t *testing.T, name string, scene footage.Scene, rec footage.Recorder) string {
	t.Helper()
	rec.Width, rec.Height, rec.Rate, rec.To = 320, 240, 10, scene.Length()
	shoot, err := footage.NewShoot(scene, rec)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), name)
	err = testfootage.Encode(context.Background(), func(w io.Writer) error {
		for shoot.Next() {
			if _, err := w.Write(shoot.Frame()); err != nil {
				return err
			}
		}
		return nil
	}, "-f", "rawvideo", "-pix_fmt", "yuv420p", "-s", "320x240", "-r", "10", "-i", "pipe:0",
		"-c:v", "libx264", "-preset", "veryfast", "-crf", "22", "-g", "20", "-y", path)
	if err != nil {
		t.Fatal(err)
	}
	return path
}

func shortPush() footage.Scene {
	scene := footage.House(7)
	scene.Van = 0
	scene.Moves = []footage.Move{{For: 2, To: 0}, {For: 6, To: 2.6}, {For: 2, To: 2.6}, {For: 5, To: 4.4}, {For: 3, To: 3.9}, {For: 3, To: 3.9}}
	return scene
}

// Films a push for it, and the package that reads has tests of its own for clocks.
func TestClockAloneIsNoCounter(t *testing.T) {
	if !soak.On() {
		t.Skip("films a push: set PUSHCUE_SOAK=1")
	}
	at := time.Date(2026, 4, 14, 9, 1, 31, 0, time.UTC)
	video := filmed(t, "clock.mp4", shortPush(), footage.Recorder{Clock: &footage.Clock{At: at}})
	dir := jobOf(t, counted, "distance;what\n2.6;grease\n", video)
	p, _ := placeJob(t, dir, placing.PlaceOptions{})
	if p.Timeline.Track != nil || p.CounterSheet != "" || len(p.Timeline.Unplaced) != 1 {
		t.Errorf("a clock was taken for a counter: track %+v, sheet %q", p.Timeline.Track, p.CounterSheet)
	}
}
