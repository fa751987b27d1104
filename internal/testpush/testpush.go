// Package testpush makes resolved timelines for tests of what is written about a push,
// without placing anything.
package testpush

import (
	"testing"

	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
)

// Timeline returns the timeline of a push with these readings and observations, whose
// rows are numbered as they stand, and then rows that have no place. Each observation
// lies where its own row says.
func Timeline(t testing.TB, sheet *jobsheet.Sheet, readings []distance.Reading, seen []timeline.Observation, unplaced ...fieldlog.Row) *timeline.Timeline {
	t.Helper()
	track, _, err := distance.NewTrack(readings, distance.TrackOptions{})
	if err != nil {
		t.Fatal(err)
	}
	line := &timeline.Timeline{Sheet: sheet, Track: track, Observations: seen, Log: &fieldlog.Log{}}
	number := func(row *fieldlog.Row) int {
		row.Number = len(line.Log.Rows) + 1
		line.Log.Rows = append(line.Log.Rows, *row)
		return row.Number
	}
	for i := range seen {
		o := &seen[i]
		o.Row = number(o.Entry)
		o.Number = o.Row
		if o.Entry.Distance != nil {
			o.Distance = &o.Entry.Distance.Metres
		}
		if o.Entry.To != nil {
			o.DistanceTo = &o.Entry.To.Metres
		}
	}
	for i := range unplaced {
		row := number(&unplaced[i])
		line.Unplaced = append(line.Unplaced, timeline.Unplaced{Row: row, Entry: &unplaced[i]})
	}
	return line
}

// Length is a length in metres as a log has it, written to a decimetre.
func Length(metres distance.Metres) *distance.Length {
	return &distance.Length{Metres: metres, Unit: distance.Metre, Step: 0.1}
}
