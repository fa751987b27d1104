package subtitles

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pushcue/timeline"
	"pushcue/timeline/timecode"
)

func TestChapters(t *testing.T) {
	lang := english(t)
	for name, c := range map[string]struct {
		seen []seen
		want string
	}{
		"none without observations":    {nil, ""},
		"the first starts at 0":        {[]seen{{at: 2, kind: "roots"}, {at: 5, kind: "crack"}}, "0-2000 Start|2000-5000 1. roots|5000-10000 2. crack"},
		"an observation at 0 is first": {[]seen{{at: 0, kind: "roots"}}, "0-10000 1. roots"},
		"one frame, one chapter":       {[]seen{{at: 2, kind: "roots"}, {at: 2.01, kind: "crack"}}, "0-2000 Start|2000-10000 1. roots · 2. crack"},
		"a stretch's end is none":      {[]seen{{at: 2, kind: "roots", end: 6}}, "0-2000 Start|2000-10000 1. roots"},
	} {
		l := line([]float64{10}, c.seen...)
		if got := list(Chapters(l, lang, 0, l.Recording.End)); got != c.want {
			t.Errorf("%s: %s, want %s", name, got, c.want)
		}
	}
	l := line([]float64{10}, seen{at: 2, kind: "roots"}, seen{at: 5, kind: "crack"})
	l.Observations[1].Distance = metres(12.4)
	if got := list(Chapters(l, lang, timecode.VideoSeconds(4), timecode.VideoSeconds(8))); got != "0-1000 Start|1000-4000 2. crack, 12.4 m" {
		t.Errorf("of a file that starts later: %s", got)
	}
}

func list(chapters []Chapter) string {
	var all []string
	for _, c := range chapters {
		all = append(all, strings.Join([]string{itoa(c.From) + "-" + itoa(c.To), c.Title}, " "))
	}
	return strings.Join(all, "|")
}

func itoa(v timecode.Video) string {
	b, _ := json.Marshal(v.Millis())
	return string(b)
}

// The chapters are read back by ffmpeg itself.
func TestChapterFileAgainstFFprobe(t *testing.T) {
	need(t, "ffprobe", "install ffmpeg")
	l := hostileLine()
	chapters := Chapters(l, english(t), 0, l.Recording.End)
	for i := range chapters[1:] {
		chapters[i+1].Title = hostile[i]
	}
	got := probeChapters(t, l, chapters)
	if len(got) != len(chapters) {
		t.Fatalf("%d chapters read, %d written", len(got), len(chapters))
	}
	for i, c := range got {
		if c.Start != chapters[i].From.FrameMillis() || c.End != chapters[i].To.FrameMillis() {
			t.Errorf("chapter %d: %d-%d, want %v-%v", i, c.Start, c.End, chapters[i].From, chapters[i].To)
		}
		if want := clean(shorten(chapters[i].Title)); strings.TrimSuffix(c.Tags.Title, joiner) != want {
			t.Errorf("chapter %d: %q, want %q", i, c.Tags.Title, want)
		}
	}
}

type probedChapter struct {
	Start, End int64
	Tags       struct{ Title string }
}

func probeChapters(t *testing.T, l *timeline.Timeline, chapters []Chapter) []probedChapter {
	t.Helper()
	var b bytes.Buffer
	if err := WriteChapters(&b, chapters); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "chapters.txt")
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	var got struct{ Chapters []probedChapter }
	out := run(t, nil, "ffprobe", "-v", "error", "-f", "ffmetadata", "-show_chapters", "-of", "json", "file:"+path)
	if err := json.Unmarshal(out, &got); err != nil {
		t.Fatal(err)
	}
	return got.Chapters
}
