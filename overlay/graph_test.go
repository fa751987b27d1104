package overlay

import (
	"strings"
	"testing"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/internal/ffmpeg"
)

// The captioned video and the excerpts come out of one run: the graph's library
// must not take a filter of one for the other's.
func TestTwoBurnsInOneRun(t *testing.T) {
	for _, size := range [][2]int{{320, 240}, {1920, 1080}} {
		j := demo()
		whole, _ := j.layout(t, size[0], size[1])
		notes, _ := j.layout(t, size[0], size[1], withNotes)
		plan := PlanFindings(notes.teller.t)
		both := ffmpeg.Input("/recording.mp4").Split()
		a := whole.Graph(both.Get("0"), Burn{Script: "place.ass", Fonts: "fonts"})
		b := plan.CloseUp(notes.Graph(plan.Pick(both.Get("1"), 0), Burn{Script: "notes.ass", Fonts: "fonts"}))
		args, err := ffmpeg.GraphArgs(ffmpeg.Output([]*ff.Stream{a}, "/a.mp4"), ffmpeg.Output([]*ff.Stream{b}, "/b.mp4"))
		if err != nil {
			t.Fatalf("%v: %v", size, err)
		}
		for filter, want := range map[string]int{"ass=": 2, "pad=": 2, "select=": 1, "setpts=": 1} {
			if n := strings.Count(strings.Join(args, " "), filter); n != want {
				t.Errorf("%v: %d times %q, want %d, in %q", size, n, filter, want, args)
			}
		}
	}
}

// No text of a job stands on the command line.
func TestNoTextInTheGraph(t *testing.T) {
	j := demo()
	j.line.Name = "Umlautstraße"
	j.notes = []string{"Umlautstraße"}
	l, _ := j.layout(t, 320, 240, withNotes)
	args := l.Graph(lavfi("nullsrc"), Burn{Script: "c.ass", Fonts: "fonts"}).Output("x").GetArgs()
	if text := strings.Join(args, " "); strings.Contains(text, "Umlaut") || strings.Contains(text, "kitchen") {
		t.Error(text)
	}
}
