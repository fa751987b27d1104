package overlay

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"io"
	"maps"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/internal/ffmpeg"
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
	seen     []string // one a frame, from the second on: what was seen, in the log's own words
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
		j.observe(tl, frame, &fieldlog.Row{What: kind, Note: note, Clock: &fieldlog.ClockSpan{From: 9, To: 3}})
	}
	for i, seen := range j.seen {
		j.observe(tl, i+1, &fieldlog.Row{What: fieldlog.Kind{Text: seen}})
	}
	told := newTeller(tl, lang)
	told.words = told.words.WithClock(func(v timecode.Video) (time.Time, bool) { return start.Add(time.Duration(v)), !j.unsure })
	return told
}

func (j job) observe(tl *timeline.Timeline, frame int, written *fieldlog.Row) {
	n := len(tl.Observations) + 1
	tl.Observations = append(tl.Observations, timeline.Observation{Number: n, Row: n, Frame: frame, Video: j.frames[frame], Entry: written})
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

// burn runs the layout's graph on a picture of the source's size, and returns the
// frames asked for as they come out of libass.
func burn(t testing.TB, l *Layout, s Script, source string, frames ...int) []*image.NRGBA {
	t.Helper()
	keep := make([]string, len(frames))
	for i, f := range frames {
		keep[i] = fmt.Sprintf("eq(n,%d)", f)
	}
	graph := l.Graph(lavfi(source), Burn{Script: "c.ass", Fonts: "fonts"}).
		Filter("select", ff.Args{strings.Join(keep, "+")}).Filter("format", ff.Args{"rgb24"})
	raw := render(t, graph, map[string][]byte{"c.ass": script(t, s)})
	size := l.Width * l.Height * 3
	if len(raw) != len(frames)*size {
		t.Fatalf("%d bytes came out, want %d frames of %d", len(raw), len(frames), size)
	}
	images := make([]*image.NRGBA, len(frames))
	for i := range images {
		images[i] = image.NewNRGBA(image.Rect(0, 0, l.Width, l.Height))
		for p := range l.Width * l.Height {
			copy(images[i].Pix[4*p:], raw[i*size+3*p:i*size+3*p+3])
			images[i].Pix[4*p+3] = 255
		}
	}
	return images
}

// atFrame30 is one gray picture, shown when the demo's frame 30 is.
func atFrame30(size string) string {
	return "color=c=gray:s=" + size + ":r=25:d=1.24,select='eq(n,30)',format=yuv420p"
}

func lavfi(source string) *ff.Stream { return ff.Input(source, ff.KwArgs{"f": "lavfi"}) }

func script(t testing.TB, s Script) []byte {
	t.Helper()
	var text bytes.Buffer
	if _, err := s.WriteTo(&text); err != nil {
		t.Fatal(err)
	}
	return text.Bytes()
}

// render runs a graph and returns the raw pictures that come out.
func render(t testing.TB, graph *ff.Stream, files map[string][]byte) []byte {
	t.Helper()
	out := graph.Output("pipe:1", ff.KwArgs{"f": "rawvideo", "fps_mode": "passthrough"})
	return run(t, ffmpeg.Run{Args: out.GetArgs(), Contents: files})
}

var tools = sync.OnceValues(func() (*ffmpeg.Tools, error) {
	return ffmpeg.Find(context.Background(), ffmpeg.Where{Cache: ffmpeg.UserCache()})
})

// run runs ffmpeg, with the captions' font at hand, and returns what came out of its pipe.
func run(t testing.TB, r ffmpeg.Run) (out []byte) {
	t.Helper()
	if os.Getenv("PUSHCUE_TEST_SHORT") != "" {
		t.Skip("needs ffmpeg")
	}
	found, err := tools()
	if err != nil {
		t.Fatalf("this test needs ffmpeg 5.1 or newer with libass; set PUSHCUE_TEST_SHORT to leave it out: %v", err)
	}
	files := map[string][]byte{"fonts/captions.ttf": FontFile()}
	maps.Copy(files, r.Contents)
	r.Contents = files
	r.Stdout = func(in io.Reader) (err error) {
		out, err = io.ReadAll(in)
		return err
	}
	if _, err := found.Do(t.Context(), r); err != nil {
		t.Fatal(err)
	}
	return out
}
