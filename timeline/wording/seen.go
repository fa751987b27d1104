package wording

import (
	"math"
	"strings"

	"pushcue/timeline"
	"pushcue/timeline/distance"
)

// Seen is the nearest and the farthest length that the camera is known to have been at;
// false where no distance is known.
func (w *Wording) Seen() (from, to distance.Metres, known bool) {
	from, to = distance.Metres(math.Inf(1)), distance.Metres(math.Inf(-1))
	take := func(m *distance.Metres) {
		if m != nil {
			from, to, known = min(from, *m), max(to, *m), true
		}
	}
	for i := range w.t.Track.Readings() {
		at := w.t.Track.Place(i)
		take(&at)
	}
	if w.FromLogOnly() {
		zero := distance.Metres(0) // the log names only what was found; the push began at the access point
		take(&zero)
	}
	for i := range w.t.Observations {
		take(w.t.Observations[i].Distance)
		take(w.t.Observations[i].DistanceTo)
	}
	return max(from, 0), to, known && to > 0
}

// FromLogOnly reports whether no counter tells where the camera was: all distances known
// are those that the log gives.
func (w *Wording) FromLogOnly() bool {
	for _, s := range w.t.Track.Sources() {
		if s != distance.FromLog {
			return false
		}
	}
	return true
}

// Went says how far the camera went, from where to where, and why it ended.
func (w *Wording) Went() []string {
	var all []string
	line := w.t.Sheet.Line
	if from, to, known := w.Seen(); known {
		way := w.Length(to)
		if dir := w.Travel(); dir != "" {
			way += " " + dir
		}
		if line.To != "" {
			way = w.l.Say("page-towards", way, line.To)
		}
		if line.From != "" {
			all = append(all, w.l.Say("page-went", line.From, way))
		} else {
			all = append(all, w.l.Say("page-went-unknown", way))
		}
		const shown = 0.05 // metres; less is shown as 0.0
		if from > shown {
			all = append(all, w.l.Say("page-length", w.Length(to), w.Length(from), w.Length(to)))
		}
	}
	if end := w.t.Sheet.Job.Ended; end != "" {
		all = append(all, w.l.Say("page-ended", strings.TrimRight(end, ". ")))
	}
	return all
}

// Travel is the direction of the push, "" when unknown.
func (w *Wording) Travel() string {
	if w.t.Sheet.Line.Travel == "" {
		return ""
	}
	return w.l.Say(w.t.Sheet.Line.Travel)
}

// NotSeen says what the camera couldn't see: what lies beyond, and under water.
func (w *Wording) NotSeen() []string {
	var all []string
	for i := range w.t.Observations {
		o := &w.t.Observations[i]
		if o.Entry == nil || o.Distance == nil {
			continue
		}
		switch o.Entry.What.Key {
		case "could-go-no-further":
			why := w.Name(o)
			if o.Entry.Note != "" {
				why = strings.TrimRight(o.Entry.Note, ". ")
			}
			all = append(all, w.l.Say("page-beyond", w.Length(*o.Distance), why))
		case "standing-water", "belly":
			if o.DistanceTo != nil {
				all = append(all, w.l.Say("page-under-water", w.Length(*o.Distance), w.Length(*o.DistanceTo)))
			}
		}
	}
	return all
}

// Careful says what limits the record, by these warnings of what was made.
func (w *Wording) Careful(warnings []timeline.Warning) []string {
	var all []string
	hidden := 0
	for i := range w.t.Observations {
		if w.t.Observations[i].Hidden {
			hidden++
		}
	}
	if hidden > 0 {
		all = append(all, w.l.Say("warn-hidden", hidden))
	}
	for _, one := range warnings {
		if info, _ := one.Code.Info(); info.Customer != "" {
			all = append(all, w.l.Say(info.Customer))
		}
	}
	return all
}
