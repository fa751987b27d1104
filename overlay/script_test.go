package overlay

import (
	"io"
	"slices"
	"strings"
	"testing"

	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/timecode"
)

// events is the script's lines, by the text shown.
func eventTexts(t *testing.T, s Script) []string {
	t.Helper()
	var texts []string
	for line := range strings.Lines(string(script(t, s))) {
		if rest, ok := strings.CutPrefix(line, "Dialogue: "); ok {
			parts := strings.SplitN(strings.TrimSpace(rest), ",", 10)
			texts = append(texts, parts[1]+" "+parts[2]+" "+parts[9][strings.IndexByte(parts[9], '}')+1:])
		}
	}
	return texts
}

func TestScriptSaysWhatIsKnown(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*job)
		want   []string // some of the events
		not    string
	}{
		{"all known", func(*job) {}, []string{
			"0:00:00.00 0:00:04.01 kitchen lateral, rear clean-out → mainline",
			"0:00:00.00 0:00:00.38 2 Mar 2026 10:07:30 UTC+1",
			"0:00:00.38 0:00:01.38 2 Mar 2026 10:07:31 UTC+1",
		}, "not certain"},
		{"no track", func(j *job) { j.readings = nil }, []string{"0:00:00.38 0:00:01.38 2 Mar 2026 10:07:31 UTC+1"}, "12."},
		{"readings for a part only", func(j *job) {
			j.readings = []distance.Reading{{At: timecode.VideoSeconds(1), Shown: 3}, {At: timecode.VideoSeconds(2), Shown: 3}}
		}, []string{"0:00:00.00 0:00:00.98 —", "0:00:00.98 0:00:02.02 3.0 m", "0:00:02.02 0:00:04.01 —"}, ""},
		{"time unsure", func(j *job) { j.unsure = true }, []string{"0:00:00.00 0:00:04.01 time not certain"}, "2026"},
		{"in German, in words", func(j *job) { j.language = "de" }, []string{"0:00:00.00 0:00:00.18 12,0 m"}, " Mar 2026"},
		{"nothing to name the line by", func(j *job) { j.line.Name, j.line.From, j.line.To = "", "", "" }, nil, "kitchen"},
		{"a direction alone", func(j *job) { j.line.From, j.line.To, j.line.Travel = "", "", "upstream" },
			[]string{"0:00:00.00 0:00:04.01 kitchen lateral, upstream"}, "→"},
		{"no room for the ends of the line", func(j *job) { j.line.To, j.line.Travel = strings.Repeat("main ", 40), "upstream" },
			[]string{"0:00:00.00 0:00:04.01 kitchen lateral, upstream"}, "→"},
		{"labels", func(j *job) { j.captions.Show = "place+label" }, []string{"0:00:00.98 0:00:01.98 1. roots", "0:00:01.98 0:00:03.02 1. roots · 2. crack"}, "brush"},
		{"everything", func(j *job) { j.captions.Show = "all" }, []string{"0:00:00.98 0:00:01.98 1. roots, from 9 to 3 o'clock: fine roots at the"}, ""},
	} {
		j := demo()
		c.change(&j)
		l, _ := j.layout(t, 480, 360)
		texts := eventTexts(t, l.PlaceScript(0, j.end))
		for _, want := range c.want {
			if !slices.Contains(texts, want) {
				t.Errorf("%s: %q is missing in\n%s", c.name, want, strings.Join(texts, "\n"))
			}
		}
		if c.not != "" && strings.Contains(strings.Join(texts, "\n"), c.not) {
			t.Errorf("%s: says %q", c.name, c.not)
		}
	}
}

// Notes apart from each other each have their own time; those of a long stretch
// stand at both its ends.
func TestNotesFollowTheirObservations(t *testing.T) {
	j := demo()
	j.frames, j.end = steady(25*60, 25, 1)
	j.notes = []string{"a", "", "", "d"}
	told := j.teller(t)
	end := timecode.VideoSeconds(50)
	told.t.Observations[3].VideoEnd = &end
	told.t.Observations = append(told.t.Observations[:1], told.t.Observations[3])
	l, _ := newLayout(told, Spec{Width: 1280, Height: 720, Captions: j.captions, Notes: true})
	var notes []string
	for _, text := range eventTexts(t, l.NotesScript()) {
		if strings.Contains(text, ". roots") || strings.Contains(text, ". crack") {
			notes = append(notes, text)
		}
	}
	want := []string{
		"0:00:00.98 0:00:02.02 1. roots, from 9 to 3 o'clock: a",
		"0:00:03.98 0:00:05.02 4. crack: stretch starts, from 9 to 3 o'clock: d",
		"0:00:49.98 0:00:51.02 4. crack: stretch ends",
	}
	if strings.Join(notes, "\n") != strings.Join(want, "\n") {
		t.Errorf("notes\n%s\nwant\n%s", strings.Join(notes, "\n"), strings.Join(want, "\n"))
	}
}

// A script of an hour is four times as long as one of a quarter.
func TestLongScriptsGrowInStep(t *testing.T) {
	write := func(minutes int) (bytes int64) {
		j := demo()
		j.frames, j.end = steady(minutes*60*30, 30, 1)
		j.readings = nil
		for s := 0; s <= minutes*60; s += 2 {
			j.readings = append(j.readings, distance.Reading{At: timecode.VideoSeconds(float64(s)), Shown: distance.Metres(s%600) / 10})
		}
		l, _ := j.layout(t, 1280, 720)
		n, err := l.PlaceScript(0, j.end).WriteTo(io.Discard)
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	quarter, hour := write(15), write(60)
	if share := float64(hour) / float64(quarter); share < 3.8 || share > 4.2 {
		t.Errorf("a quarter of an hour takes %d bytes, an hour %d", quarter, hour)
	}
}

// A stretch short enough to be shown whole says where it ends as well.
func TestShortStretchHasBothEnds(t *testing.T) {
	j := demo()
	j.notes = j.notes[:1]
	j.captions.Show = "place+label"
	told := j.teller(t)
	end := timecode.VideoSeconds(3)
	told.t.Observations[0].VideoEnd = &end
	l, _ := newLayout(told, Spec{Width: 1280, Height: 720, Captions: j.captions})
	texts := eventTexts(t, l.PlaceScript(0, j.end))
	for _, want := range []string{"0:00:00.98 0:00:02.98 1. roots: stretch starts", "0:00:02.98 0:00:04.01 1. roots: stretch ends"} {
		if !slices.Contains(texts, want) {
			t.Errorf("%q is missing in\n%s", want, strings.Join(texts, "\n"))
		}
	}
}

// Hundreds of remarks at one moment, each of any length, cost no more than they are.
func TestCrowdedMomentStaysSmall(t *testing.T) {
	j := demo()
	j.notes = nil
	told := j.teller(t)
	for range 500 {
		j.observe(told.t, 25, &fieldlog.Row{Note: strings.Repeat("long ", 2000)})
	}
	l, _ := newLayout(told, Spec{Width: 640, Height: 480, Captions: j.captions, Notes: true})
	if n := len(script(t, l.NotesScript())); n > 20_000 {
		t.Errorf("%d bytes", n)
	}
}
