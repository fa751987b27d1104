package overlay

import (
	"bytes"
	"context"
	"image"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	ffmpeg "github.com/u2takey/ffmpeg-go"

	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// job is a made-up push of a few seconds.
type job struct {
	frames   []timecode.Video
	end      timecode.Video
	line     jobsheet.Line
	captions jobsheet.Captions
	notes    []string // one a second, from the second on
	readings []distance.Reading
	language string
	unsure   bool // true time isn't known
}

// steady is n frames at num/den a second.
func steady(n, num, den int) ([]timecode.Video, timecode.Video) {
	at := func(i int) timecode.Video { return timecode.Video(int64(i) * int64(den) * 1e9 / int64(num)) }
	frames := make([]timecode.Video, n)
	for i := range frames {
		frames[i] = at(i)
	}
	return frames, at(n)
}

func demo() job {
	j := job{
		line:     jobsheet.Line{Name: "kitchen lateral", From: "rear clean-out", To: "mainline"},
		captions: jobsheet.Captions{Strip: "above", Show: "place"},
		notes:    []string{"fine roots at the joint, light brush", "hairline crack along the crown"},
		readings: []distance.Reading{{At: 0, Shown: 12}, {At: timecode.VideoSeconds(4), Shown: 13}},
		language: "en",
	}
	j.frames, j.end = steady(100, 25, 1)
	return j
}

// start is the true time of the first frame.
var start = time.Date(2026, 3, 2, 10, 7, 30, 600e6, time.FixedZone("", 3600))

func (j job) teller(t testing.TB) *teller {
	t.Helper()
	lang, err := words.For(j.language)
	if err != nil {
		t.Fatal(err)
	}
	track, _, err := distance.NewTrack(j.readings, distance.TrackOptions{Gap: time.Hour})
	if err != nil {
		t.Fatal(err)
	}
	sheet := &jobsheet.Sheet{Line: j.line, Captions: j.captions, Job: jobsheet.Job{Units: distance.Metre}}
	sheet.Clips = jobsheet.Clips{Lead: 500 * time.Millisecond, Tail: time.Second}
	tl := &timeline.Timeline{
		Sheet: sheet, Track: track, ShowTo: j.end,
		Recording: timeline.Recording{Frames: j.frames, End: j.end, Parts: []timeline.Part{{}}},
	}
	for i, note := range j.notes {
		frame := frameAt(j.frames, timecode.VideoSeconds(float64(i+1)))
		kind := fieldlog.Kind{Key: []string{"roots", "crack"}[i%2]}
		tl.Observations = append(tl.Observations, timeline.Observation{
			Number: i + 1, Row: i + 1, Frame: frame, Video: j.frames[frame],
			Entry: &fieldlog.Row{What: kind, Note: note, Clock: &fieldlog.ClockSpan{From: 9, To: 3}},
		})
	}
	told := newTeller(tl, lang)
	told.trueTime = func(v timecode.Video) (time.Time, bool) { return start.Add(time.Duration(v)), !j.unsure }
	return told
}

func (j job) layout(t testing.TB, width, height int, change ...func(*Spec)) (*Layout, []timeline.Warning) {
	t.Helper()
	s := Spec{Width: width, Height: height, Captions: j.captions}
	for _, c := range change {
		c(&s)
	}
	return newLayout(j.teller(t), s)
}

func withNotes(s *Spec) { s.Notes = true }
func asStill(s *Spec)   { s.Still = true }

// burn runs the layout's graph on a plain picture of the source's size, and
// returns the frames asked for as they come out of libass.
func burn(t testing.TB, l *Layout, s Script, source string, frames ...int) []image.Image {
	t.Helper()
	dir := t.TempDir()
	writeFonts(t, dir)
	var text bytes.Buffer
	if _, err := s.WriteTo(&text); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "c.ass"), text.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	keep := ""
	for i, f := range frames {
		if i > 0 {
			keep += "+"
		}
		keep += "eq(n," + itoa(f) + ")"
	}
	in := ffmpeg.Input(source, ffmpeg.KwArgs{"f": "lavfi"})
	out := l.Graph(in, Burn{Script: "c.ass", Fonts: "fonts"}).Filter("select", ffmpeg.Args{keep}).
		Output("%d.png", ffmpeg.KwArgs{"fps_mode": "passthrough"})
	run(t, dir, out.GetArgs())
	images := make([]image.Image, len(frames))
	for i := range frames {
		images[i] = readPNG(t, filepath.Join(dir, itoa(i+1)+".png"))
	}
	return images
}

func writeFonts(t testing.TB, dir string) {
	t.Helper()
	if err := os.Mkdir(filepath.Join(dir, "fonts"), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "fonts", "DejaVuSans.ttf"), FontFile(), 0o600); err != nil {
		t.Fatal(err)
	}
}

func run(t testing.TB, dir string, args []string) {
	t.Helper()
	cmd := exec.CommandContext(context.Background(), "ffmpeg", append([]string{"-hide_banner", "-nostdin", "-v", "error", "-y"}, args...)...)
	cmd.Dir = dir
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("ffmpeg %q: %v\n%s", args, err, out)
	}
}

func readPNG(t testing.TB, path string) image.Image {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	img, err := png.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	return img
}
