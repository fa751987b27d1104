package wording

import (
	"math"
	"slices"
	"strings"

	"pushcue/timeline"
	"pushcue/timeline/distance"
)

// Seen is the nearest and the farthest length that the camera is known to have been at:
// by the counter where there is one, else by the entries of the log; false where no
// distance is known.
func (w *Wording) Seen() (from, to distance.Metres, known bool) {
	if w.FromLogOnly() {
		farthest := w.Farthest() // the log names only what was found; the push began at the access point
		return 0, farthest, farthest > 0
	}
	from, to = distance.Metres(math.Inf(1)), distance.Metres(math.Inf(-1))
	for i := range w.t.Track.Readings() {
		at := w.t.Track.Place(i)
		from, to = min(from, at), max(to, at)
	}
	return max(from, 0), to, to > 0
}

// Farthest is the greatest length that is told of anywhere, whether the camera is known to
// have got so far or not.
func (w *Wording) Farthest() distance.Metres {
	var farthest distance.Metres
	for i := range w.t.Track.Readings() {
		farthest = max(farthest, w.t.Track.Place(i))
	}
	for _, e := range w.entries() {
		for _, end := range []*distance.Metres{e.from, e.to} {
			if end != nil {
				farthest = max(farthest, *end)
			}
		}
	}
	return farthest
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

// Went says how far the camera went, from where to where, how that is known, and why it
// ended.
func (w *Wording) Went() []string {
	var all []string
	line := w.t.Sheet.Line
	if _, to, known := w.Seen(); known {
		way := w.Length(to)
		if dir := w.Travel(); dir != "" {
			way += " " + dir
		}
		if line.To != "" {
			way = w.l.Say("page-towards", way, line.To)
		}
		key := "page-went"
		if w.FromLogOnly() {
			key = "page-noted"
		}
		if line.From != "" {
			all = append(all, w.l.Say(key, line.From, way))
		} else {
			all = append(all, w.l.Say(key+"-unknown", way))
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

// NotSeen says what the camera couldn't see: what lies before the first reading, beyond
// where it could go, and under water.
func (w *Wording) NotSeen() []string {
	var all []string
	from, to, known := w.Seen()
	const shown = 0.05 // metres; less is shown as 0.0
	if known && from > shown {
		all = append(all, w.l.Say("page-before", w.Length(from)))
	}
	for _, e := range w.entries() {
		switch e.row.What.Key {
		case "could-go-no-further":
			if e.from == nil || to > *e.from+counterLag { // it went on after all
				continue
			}
			if why := strings.TrimRight(e.row.Note, ". "); why != "" {
				all = append(all, w.l.Say("page-beyond", w.Length(*e.from), why))
			} else {
				all = append(all, w.l.Say("page-beyond-plain", w.Length(*e.from)))
			}
		case "standing-water", "belly":
			switch {
			case e.from == nil:
				all = append(all, w.l.Say("page-under-water-somewhere"))
			case e.to == nil:
				all = append(all, w.l.Say("page-under-water-at", w.Length(*e.from)))
			default:
				all = append(all, w.l.Say("page-under-water", w.Length(*e.from), w.Length(*e.to)))
			}
		}
	}
	return slices.Compact(all)
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
		all = append(all, w.counted("warn-hidden", hidden))
	}
	if _, some := w.uncheckedTime(); some {
		all = append(all, w.l.Say("warn-time-unsure"))
	}
	for _, one := range warnings {
		if info, _ := one.Code.Info(); info.Customer != "" {
			all = append(all, w.l.Say(info.Customer))
		}
	}
	return all
}
