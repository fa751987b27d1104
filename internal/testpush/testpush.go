// Package testpush turns a timeline document into the timeline that it describes, for
// tests of what is written about a push: they describe the push once, as a document.
package testpush

import (
	"testing"
	"time"

	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/document"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
)

// Timeline returns a timeline with the rows, readings and job sheet of d. Only what
// wording needs is filled in.
func Timeline(t testing.TB, d *document.Document) *timeline.Timeline {
	t.Helper()
	sheet := jobsheet.Default()
	sheet.Job.Units = distance.Unit(d.Job.Units)
	tl := &timeline.Timeline{Sheet: sheet, Log: &fieldlog.Log{}}
	var readings []distance.Reading
	for _, r := range d.Distance.Readings {
		readings = append(readings, distance.Reading{At: timecode.VideoSeconds(r.Video), Shown: distance.Metres(r.Distance), Source: distance.Source(r.Source)})
	}
	track, _, err := distance.NewTrack(readings, distance.TrackOptions{})
	if err != nil {
		t.Fatal(err)
	}
	tl.Track = track
	for _, o := range d.Observations {
		row := rowOf(o.Row, o.Kind, o.What, o.Note, o.Urgency, o.Distance)
		placed := timeline.Observation{Number: o.Number, Row: o.Row, Video: timecode.VideoSeconds(o.Video), Entry: row, Hidden: o.Hidden,
			Uncertainty: time.Duration(o.Uncertainty * float64(time.Second)), Basis: timeline.Basis(o.Basis), Distance: metres(o.Distance), DistanceTo: metres(o.DistanceTo)}
		if o.ClockFrom != nil {
			row.Clock = &fieldlog.ClockSpan{From: *o.ClockFrom, To: *o.ClockFrom}
			if o.ClockTo != nil {
				row.Clock.To = *o.ClockTo
			}
		}
		tl.Observations = append(tl.Observations, placed)
		tl.Log.Rows = append(tl.Log.Rows, *row)
	}
	for _, u := range d.Unplaced {
		row := rowOf(u.Row, u.Kind, u.What, u.Note, u.Urgency, u.Distance)
		tl.Unplaced = append(tl.Unplaced, timeline.Unplaced{Row: u.Row, Entry: row})
		tl.Log.Rows = append(tl.Log.Rows, *row)
	}
	return tl
}

func rowOf(number int, kind, what, note, urgency *string, at *float64) *fieldlog.Row {
	row := &fieldlog.Row{Number: number, What: fieldlog.Kind{Key: text(kind), Text: text(what)}, Note: text(note), Urgency: fieldlog.Urgency(text(urgency))}
	if at != nil {
		row.Distance = &distance.Length{Metres: distance.Metres(*at), Unit: distance.Metre, Step: 0.1}
	}
	return row
}

func text(s *string) string {
	if s == nil {
		return ""
	}
	return *s
}

func metres(m *float64) *distance.Metres {
	if m == nil {
		return nil
	}
	d := distance.Metres(*m)
	return &d
}
