package handover

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pushcue/frames"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/job"
	"pushcue/internal/placing"
	"pushcue/timeline/edits"
	"pushcue/timeline/timecode"
)

// longJob is a job of two hours and 400 rows with a reading of the counter each
// second, on a desk; its recording isn't there, only when its frames are shown.
func longJob(t testing.TB) (*placing.Desk, *job.Job) {
	t.Helper()
	var log, readings strings.Builder
	log.WriteString("time;distance;what;clock;note\n")
	for i := range 400 {
		at := time.Duration(i*18) * time.Second
		fmt.Fprintf(&log, "%d:%02d:%02d;%.2f;roots;%d;note number %d\n", 10+int(at.Hours()), int(at.Minutes())%60, int(at.Seconds())%60, float64(i)*0.05, i%12+1, i)
	}
	readings.WriteString("video;distance\n")
	for i := range 7200 {
		fmt.Fprintf(&readings, "%d:%02d;%.2f\n", i/60, i%60, float64(i)/360)
	}
	dir := t.TempDir()
	for name, text := range map[string]string{
		"log.csv": log.String(), "readings.csv": readings.String(), "part1.mp4": "",
		"job.toml": "[job]\ndate = 2026-03-02\nzone = \"Europe/Lisbon\"\n[recording]\nstarts = \"10:00:00\"\n[distance]\nreadings = \"readings.csv\"\n",
	} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	visit, err := job.Open(t.Context(), job.Ask{Path: dir})
	if err != nil {
		t.Fatal(err)
	}
	job := visit.Jobs[0]
	rec := &frames.Recording{Width: 1280, Height: 720, End: timecode.VideoSeconds(7200)}
	for i := range 7200 * 30 {
		rec.Times = append(rec.Times, timecode.VideoSeconds(float64(i)/30))
	}
	rec.Parts = []frames.Part{{Name: "part1.mp4", Media: &ffmpeg.Media{}, Count: len(rec.Times), Length: 2 * time.Hour, Rate: timecode.Rate{Num: 30, Den: 1}}}
	return &placing.Desk{Recording: rec, Videos: job.Videos}, job
}

// correct lays a correction over the job, every second one of its clock, and places it.
func correct(t testing.TB, d *placing.Desk, j *job.Job, n int) {
	t.Helper()
	at := float64(n%7000) + 0.5
	e := edits.Edit{ID: fmt.Sprint("e", n), What: edits.Anchor, Row: n%300 + 1, Video: &at}
	if n%2 == 1 {
		e = edits.Edit{ID: e.ID, What: edits.Set, Row: n%300 + 1, Values: map[string]any{"note": fmt.Sprint(n), "distance": "3.2 m"}}
	}
	job, err := j.Corrected(t.Context(), j.Edits.With(e))
	if err != nil {
		t.Fatal(err)
	}
	placed, err := d.Place(t.Context(), job)
	if err != nil {
		t.Fatal(err)
	}
	if len(placed.Timeline.Observations)+len(placed.Timeline.Unplaced) != 400 {
		t.Fatalf("%d placed, %d not", len(placed.Timeline.Observations), len(placed.Timeline.Unplaced))
	}
}

// How long that takes is for the benchmark to tell.
func TestCorrectionsOfALongJobPlaceEveryRow(t *testing.T) {
	t.Parallel()
	d, job := longJob(t)
	correct(t, d, job, 0)
	correct(t, d, job, 1)
}

// A job that is closed while its counter is read stops placing it anew: the program crashed
// on the timeline that wasn't there then.
func TestAPlacingThatIsStoppedLeavesTheOneBefore(t *testing.T) {
	d, job := longJob(t)
	placed, err := d.Place(t.Context(), job)
	if err != nil {
		t.Fatal(err)
	}
	before := placed.Timeline
	ctx, stop := context.WithCancel(t.Context())
	stop()
	if err := placed.Resolve(ctx, placed.Inputs, nil); !errors.Is(err, context.Canceled) || placed.Timeline != before {
		t.Errorf("%v; the timeline is %p, was %p", err, placed.Timeline, before)
	}
}

func BenchmarkCorrection(b *testing.B) {
	d, job := longJob(b)
	correct(b, d, job, 0)
	n := 1
	for b.Loop() {
		correct(b, d, job, n)
		n++
	}
}
