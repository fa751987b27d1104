package wording

import (
	"testing"

	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// push is a recording with readings at 0 and 100 s, too far apart to be sure between.
func push(t *testing.T, o timeline.Observation) (*timeline.Timeline, *timeline.Observation) {
	t.Helper()
	track, _, err := distance.NewTrack([]distance.Reading{{Shown: 2}, {At: timecode.VideoSeconds(100), Shown: 12}}, distance.TrackOptions{})
	if err != nil {
		t.Fatal(err)
	}
	o.Number = 3
	tl := &timeline.Timeline{Track: track, Sheet: &jobsheet.Sheet{Job: jobsheet.Job{Units: distance.Metre}}, Observations: []timeline.Observation{o}}
	return tl, &tl.Observations[0]
}

func metres(m distance.Metres) *distance.Metres { return &m }

func TestAnObservationIsNamedAndPlacedAlikeEverywhere(t *testing.T) {
	halfway := timecode.VideoSeconds(50)
	for _, c := range []struct {
		what                string
		o                   timeline.Observation
		label, where, still string
	}{
		{"a known kind, whatever the log calls it", timeline.Observation{Entry: &fieldlog.Row{What: fieldlog.Kind{Key: "roots", Text: "raíces finas"}}},
			"3. roots", "", "2.0 m"},
		{"an unknown kind", timeline.Observation{Entry: &fieldlog.Row{What: fieldlog.Kind{Text: " odd stain "}}}, "3. odd stain", "", "2.0 m"},
		{"no kind", timeline.Observation{Entry: &fieldlog.Row{Note: "look here"}}, "Observation 3", "", "2.0 m"},
		{"a kind that nobody can see", timeline.Observation{Entry: &fieldlog.Row{What: fieldlog.Kind{Text: "\x00\u200b"}}}, "Observation 3", "", "2.0 m"},
		{"no row at all", timeline.Observation{}, "Observation 3", "", "2.0 m"},
		{"the log's own distance", timeline.Observation{Video: halfway, Distance: metres(7), Entry: &fieldlog.Row{Distance: &distance.Length{Metres: 7}}}, "Observation 3", "7.0 m", "7.0 m"},
		{"the track's distance across a gap", timeline.Observation{Video: halfway, Distance: metres(7), Entry: &fieldlog.Row{}}, "Observation 3", "about 7.0 m", "about 7.0 m"},
		{"a stretch", timeline.Observation{Distance: metres(7), DistanceTo: metres(9), Entry: &fieldlog.Row{Distance: &distance.Length{Metres: 7}}}, "Observation 3", "7.0 m to 9.0 m", "7.0 m"},
	} {
		tl, o := push(t, c.o)
		w := In(words.English(), tl)
		if got := w.Label(o); got != c.label {
			t.Errorf("%s: label %q, want %q", c.what, got, c.label)
		}
		if got := w.Where(o); got != c.where {
			t.Errorf("%s: where %q, want %q", c.what, got, c.where)
		}
		if got := w.WhereShown(o, o.Video); got != c.still {
			t.Errorf("%s: on the still %q, want %q", c.what, got, c.still)
		}
	}
}

func TestDistanceIsADashWhereNothingIsKnown(t *testing.T) {
	tl, _ := push(t, timeline.Observation{})
	w := In(words.English(), tl)
	if got := w.DistanceAt(timecode.VideoSeconds(200)); got != "—" {
		t.Errorf("behind the last reading: %q", got)
	}
	tl.Track = nil
	if got := w.DistanceAt(0); got != "" {
		t.Errorf("without any reading: %q", got)
	}
}
