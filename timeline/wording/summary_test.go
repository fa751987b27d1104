package wording

import (
	"fmt"
	"strings"
	"testing"

	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/words"
)

// row is an entry of the log: kind, urgency, note.
func row(number int, kind, urgency, note string) *fieldlog.Row {
	return &fieldlog.Row{Number: number, What: fieldlog.Kind{Key: kind}, Urgency: fieldlog.Urgency(urgency), Note: note}
}

// summed is the summary of a push with these rows; those of unplaced have no place on
// the recording.
func summed(t *testing.T, tag string, placed, unplaced []*fieldlog.Row) Summary {
	t.Helper()
	l, err := words.For(tag)
	if err != nil {
		t.Fatal(err)
	}
	tl, _ := push(t, timeline.Observation{})
	tl.Observations, tl.Log = nil, &fieldlog.Log{}
	for i, r := range placed {
		tl.Observations = append(tl.Observations, timeline.Observation{Number: i + 1, Row: r.Number, Entry: r})
	}
	for _, r := range unplaced {
		tl.Unplaced = append(tl.Unplaced, timeline.Unplaced{Row: r.Number, Entry: r})
	}
	return In(l, tl).Summary()
}

func titlesOf(s Summary) string {
	var all []string
	for _, g := range s.Groups {
		all = append(all, fmt.Sprintf("%s %d", g.Title, len(g.Items)))
	}
	return strings.Join(all, "; ")
}

func TestSummaryNeverSaysMoreThanWasNoted(t *testing.T) {
	rows := func(r ...*fieldlog.Row) []*fieldlog.Row { return r }
	for _, c := range []struct {
		what             string
		placed, unplaced []*fieldlog.Row
		verdict, groups  string
	}{
		{what: "an empty log", verdict: "The log holds no entry: no fault was noted. Nobody has said what the recording shows, so it may show faults."},
		{what: "parts of a sound line alone", placed: rows(row(1, "connection", "", "from the bath"), row(2, "bend", "none", "")),
			verdict: "The technician noted no fault on the length that was seen."},
		{what: "a defect with urgency none", placed: rows(row(1, "crack", "none", "")),
			verdict: "The technician noted a fault in one entry of the log. A licensed person decides what is done.", groups: "Noted as faults, and as not urgent 1"},
		{what: "a defect without urgency", placed: rows(row(1, "crack", "", "")),
			verdict: "The technician noted a fault in one entry of the log. A licensed person decides what is done.", groups: "Noted as faults, without advice 1"},
		{what: "a fault that stands only in a note", placed: rows(row(1, "connection", "", "cracks all round it")),
			verdict: "This program can't tell whether one entry names a fault: it has to be read by a person. A licensed person decides what is done.",
			groups:  "To be read by a person: it may name a fault 1"},
		{what: "a remark", placed: rows(row(1, "remark", "", "something hangs down")),
			verdict: "This program can't tell whether one entry names a fault: it has to be read by a person. A licensed person decides what is done.",
			groups:  "To be read by a person: it may name a fault 1"},
		{what: "rows without a place", placed: rows(row(1, "grease", "watch", "")), unplaced: rows(row(2, "hole", "repair", ""), row(3, "collapse", "at once", "")),
			verdict: "The technician noted faults in 3 entries of the log. 2 of the entries could not be found on the recording. A licensed person decides what is done.",
			groups:  "Before anything else 1; The technician advises: repair 1; The technician advises: watch 1"},
		{what: "a crossing utility with urgency none", placed: rows(row(1, "roots", "at once", ""), row(2, "crossing-utility", "none", "")),
			verdict: "The technician suspects that another line crosses the drain. The technician noted a fault in one entry of the log. A licensed person decides what is done.",
			groups:  "Before anything else 1; The technician advises: act at once 1"},
		{what: "a suspected crossing alone", placed: rows(row(1, "crossing-utility", "", "")),
			verdict: "The technician suspects that another line crosses the drain. A licensed person decides what is done.", groups: "Before anything else 1"},
		{what: "a camera that could go no further", placed: rows(row(1, "bend", "", ""), row(2, "could-go-no-further", "", "")),
			verdict: "The technician noted no fault on the length that was seen. The camera could go no further; what stopped it may be a fault. A licensed person decides what is done.",
			groups:  "The camera could go no further 1"},
	} {
		s := summed(t, "en", c.placed, c.unplaced)
		if got := strings.Join(s.Verdict, " "); got != c.verdict {
			t.Errorf("%s:\n got %q\nwant %q", c.what, got, c.verdict)
		}
		if got := titlesOf(s); got != c.groups {
			t.Errorf("%s: groups %q, want %q", c.what, got, c.groups)
		}
	}
}

func TestACrossingBringsItsCautionIntoTheSummary(t *testing.T) {
	s := summed(t, "en", []*fieldlog.Row{row(1, "crossing-utility", "", "")}, nil)
	if len(s.Groups) != 1 || !strings.Contains(s.Groups[0].Caution, "Don't cut, jet or pull") {
		t.Errorf("%+v", s.Groups)
	}
}

func TestAJobWithoutALogIsNotSaidToBeSound(t *testing.T) {
	for _, tag := range words.Tags() {
		l, err := words.For(tag)
		if err != nil {
			t.Fatal(err)
		}
		tl, _ := push(t, timeline.Observation{})
		tl.Observations = nil
		s := In(l, tl).Summary()
		if want := []string{l.Say("summary-no-log"), l.Say("summary-not-judged")}; fmt.Sprint(s.Verdict) != fmt.Sprint(want) {
			t.Errorf("%s: %q", tag, s.Verdict)
		}
	}
}

func TestADistanceBeyondTheReadingsIsTold(t *testing.T) {
	tl, _ := push(t, timeline.Observation{})
	track, _, err := distance.NewTrack([]distance.Reading{{Shown: 2, Source: distance.FromPicture}, {At: 1e9, Shown: 3, Source: distance.FromPicture}}, distance.TrackOptions{})
	if err != nil {
		t.Fatal(err)
	}
	far := row(1, "roots", "", "")
	far.Distance = &distance.Length{Metres: 40}
	near := row(2, "crack", "", "")
	near.Distance = &distance.Length{Metres: 3.2}
	tl.Track, tl.Log = track, &fieldlog.Log{}
	tl.Observations = []timeline.Observation{{Number: 1, Row: 1, Entry: far, Distance: metres(40)}, {Number: 2, Row: 2, Entry: near, Distance: metres(3.2)}}
	got := In(words.English(), tl).Summary().Missing
	if len(got) != 1 || got[0] != "The counter got no further than 3.0 m, but these entries name a greater distance: 1. roots." {
		t.Errorf("%q", got)
	}
}

func TestEverySentenceStandsInEveryLanguage(t *testing.T) {
	for _, tag := range words.Tags() {
		placed := []*fieldlog.Row{row(1, "roots", "at once", ""), row(2, "crack", "none", ""), row(3, "collapse", "", ""), row(4, "remark", "", "x"), row(5, "bend", "", ""),
			row(6, "grease", "watch", ""), row(7, "hole", "repair", ""), row(8, "scale", "", ""), row(10, "could-go-no-further", "", "")}
		s := summed(t, tag, placed, []*fieldlog.Row{row(9, "roots", "", "")})
		if text := fmt.Sprintf("%+v", s); strings.Contains(text, "[summary") || strings.Contains(text, "[page") || strings.Contains(text, "%!") {
			t.Errorf("%s: %s", tag, text)
		}
		if len(s.Groups) != int(feature) {
			t.Errorf("%s: %d groups", tag, len(s.Groups))
		}
	}
}
