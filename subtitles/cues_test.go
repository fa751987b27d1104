package subtitles

import (
	"fmt"
	"strings"
	"testing"

	"pushcue/timeline/fieldlog"
	"pushcue/timeline/timecode"
)

// show writes cues so that a test can be read: "2.00-3.50 1. roots / second line".
func show(cues []Cue) string {
	var b strings.Builder
	for _, c := range cues {
		fmt.Fprintf(&b, "%.2f-%.2f %s\n", c.From.Seconds(), c.To.Seconds(), strings.Join(c.Lines, " / "))
	}
	return b.String()
}

func TestCues(t *testing.T) {
	for name, c := range map[string]struct {
		parts []float64
		seen  []seen
		want  string
	}{
		"nothing seen": {[]float64{10}, nil, ""},
		"alone, for as long as it takes to read": {[]float64{10}, []seen{{at: 2, kind: "roots"}},
			"2.00-3.50 1. roots\n"},
		"with a note": {[]float64{20}, []seen{{at: 2, kind: "roots", note: "fine ones at the joint"}},
			"2.00-4.62 1. roots: fine ones at the joint\n"},
		"two within a second and a half share a cue": {[]float64{10}, []seen{{at: 2, kind: "roots"}, {at: 3.4, kind: "crack"}},
			"2.00-3.50 1. roots · 2. crack\n"},
		"two a second and a half apart don't": {[]float64{10}, []seen{{at: 2, kind: "roots"}, {at: 3.52, kind: "crack"}},
			"2.00-3.50 1. roots\n3.52-5.02 2. crack\n"},
		"notes that share a cue say whose they are": {[]float64{20}, []seen{{at: 2, kind: "roots", note: "thick"}, {at: 3, kind: "crack", note: "long"}},
			"2.00-5.00 1. roots · 2. crack: 1: thick · 2: long\n"},
		"what can't be read before the next is left to the page": {[]float64{20},
			[]seen{{at: 2, kind: "roots", note: "a mass that fills half of the bore and hangs down into the water"}, {at: 5, kind: "crack"}},
			"2.00-5.00 1. roots: a mass that … more on the page\n5.00-6.50 2. crack\n"},
		"number and kind alone where no more can be read": {[]float64{20},
			[]seen{{at: 2, kind: "roots", note: "a mass that fills half of the bore"}, {at: 3.6, kind: "crack"}},
			"2.00-3.50 1. roots\n3.60-5.10 2. crack\n"},
		"a long note goes on in the next cue": {[]float64{30},
			[]seen{{at: 2, kind: "roots", note: "a mass that fills half of the bore and hangs down into the water, with paper caught in it and grease on top"}},
			"2.00-8.38 1. roots: a mass that fills half of the / bore and hangs down into the water, with\n8.38-11.38 paper caught in it and grease on top\n"},
		"a note ends with the recording": {[]float64{6},
			[]seen{{at: 2, kind: "roots", note: "a mass that fills half of the bore and hangs down into the water, with paper caught in it"}},
			"2.00-6.00 1. roots: a mass that fills half of … more / on the page\n"},
		"at the very end reading time yields": {[]float64{6}, []seen{{at: 5.5, kind: "roots", note: "a mass"}},
			"5.48-6.00 1. roots\n"},
		"a note goes on after a part's end, number and kind again": {[]float64{5, 20},
			[]seen{{at: 2, kind: "roots", note: "a mass that fills half of the bore and hangs down into the water"}},
			"2.00-5.00 1. roots: a mass that fills half of the\n5.00-8.38 1. roots: bore and hangs down into the / water\n"},
		"just before a part's end number and kind come first": {[]float64{5, 20},
			[]seen{{at: 4.8, kind: "roots", note: "a mass"}},
			"4.80-5.00 1. roots\n5.00-6.50 1. roots: a mass\n"},
		"a stretch is announced at both ends": {[]float64{20}, []seen{{at: 2, kind: "roots", end: 8.01}},
			"2.00-3.50 1. roots: stretch starts\n8.00-9.50 1. roots: stretch ends\n"},
		"no kind": {[]float64{20}, []seen{{at: 2, note: "look here"}},
			"2.00-3.50 Observation 1: look here\n"},
	} {
		if got := show(all(t, line(c.parts, c.seen...))); got != c.want {
			t.Errorf("%s:\n%swant\n%s", name, got, c.want)
		}
	}
}

func TestCuesSayWhereItIs(t *testing.T) {
	l := line([]float64{20}, seen{at: 2, kind: "roots", note: "fine"})
	o := &l.Observations[0]
	o.Distance, o.DistanceTo = metres(12.4), metres(15)
	o.Entry.Clock = &fieldlog.ClockSpan{From: 9, To: 3}
	got := strings.Join(all(t, l)[0].Lines, " ")
	for _, want := range []string{"1. roots", "12.4 m to 15.0 m", "from 9 to 3 o'clock", "fine"} {
		if !strings.Contains(got, want) {
			t.Errorf("%q doesn't say %q", got, want)
		}
	}
}

// Half of a place tells nothing: where there isn't time for all of it, it's left out.
func TestAPlaceIsSaidWholeOrNotAtAll(t *testing.T) {
	l := line([]float64{20}, seen{at: 2, kind: "roots", note: "fine"}, seen{at: 5, kind: "crack"})
	o := &l.Observations[0]
	o.Distance = metres(12.4)
	o.Entry.Clock = &fieldlog.ClockSpan{From: 9, To: 3}
	if got := show(all(t, l)); !strings.HasPrefix(got, "2.00-5.00 1. roots: 12.4 m, … more on the page\n") {
		t.Error(got)
	}
}

func TestKindsOfTheFirmsOwn(t *testing.T) {
	l := line([]float64{20}, seen{at: 2})
	l.Observations[0].Entry.What = fieldlog.Kind{Code: "X7", Text: "ferns"}
	if got := show(all(t, l)); got != "2.00-3.50 1. ferns\n" {
		t.Error(got)
	}
}

func TestWhatTheCustomerIsntShownIsntSaid(t *testing.T) {
	l := line([]float64{20}, seen{at: 2, kind: "roots"}, seen{at: 8, kind: "crack"})
	l.Observations[0].Hidden = true
	l.ShowFrom = timecode.VideoSeconds(5)
	if got := show(all(t, l)); got != "3.00-4.50 2. crack\n" {
		t.Error(got)
	}
	if got := Chapters(l, english(t), l.ShowFrom, l.ShowTo); len(got) != 2 || got[1].Title != "2. crack" || got[1].From.Seconds() != 3 {
		t.Errorf("%+v", got)
	}
}

// Files that show the recording one after the other say together what one file would,
// but for what stands on the cut.
func TestSeveralFilesShareOneRecording(t *testing.T) {
	l := line([]float64{5, 20}, seen{at: 1, kind: "roots"}, seen{at: 4.8, kind: "crack", note: "runs round the joint"}, seen{at: 12, kind: "bend"})
	lang, cut := english(t), timecode.VideoSeconds(5)
	if got := show(Cues(l, lang, 0, cut)); got != "1.00-2.50 1. roots\n4.80-5.00 2. crack\n" {
		t.Error(got)
	}
	if got := show(Cues(l, lang, cut, l.Recording.End)); got != "0.00-2.25 2. crack: runs round the joint\n7.00-8.50 3. bend\n" {
		t.Error(got)
	}
}

func TestShowToEndsCues(t *testing.T) {
	l := line([]float64{20}, seen{at: 2, kind: "roots", note: "a mass that fills half of the bore"})
	l.ShowTo = timecode.VideoSeconds(3)
	cues := Cues(l, english(t), 0, l.ShowTo)
	if last := cues[len(cues)-1]; last.To != l.ShowTo {
		t.Errorf("ends at %v", last.To)
	}
}

func TestExactlyTheShortestTimeApartIsApart(t *testing.T) {
	for apart, groups := range map[float64]int{1.499: 1, 1.5: 2} {
		if got := share([]announcement{{at: 0}, {at: timecode.VideoSeconds(apart)}}); len(got) != groups {
			t.Errorf("%v s apart: %d cues, want %d", apart, len(got), groups)
		}
	}
}
