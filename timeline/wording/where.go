package wording

import (
	"math"
	"strconv"
	"strings"

	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/timecode"
)

// DistanceAt is how far the camera was at v: "12.4 m", "about 12.4 m" across a long gap
// between readings, a dash where nothing is known; "" in a recording of which no
// distance is known at all.
func (w *Wording) DistanceAt(v timecode.Video) string {
	if w.t.Track == nil {
		return ""
	}
	return w.point(w.t.DistanceAt(v))
}

func (w *Wording) point(p distance.Point) string {
	switch p.State {
	case distance.Unread:
		return w.l.Say("no-distance")
	case distance.About:
		return w.About(w.Length(p.Metres))
	}
	return w.Length(p.Metres)
}

// About marks a length as approximate.
func (w *Wording) About(length string) string { return w.l.Say("about", length) }

// Where is where along the line an observation is: a length, "about" a length where the
// track isn't surer than that, from where to where for a stretch; "" when unknown.
func (w *Wording) Where(o *timeline.Observation) string {
	if o.Distance == nil {
		if w.approximate(o) {
			return w.point(w.t.DistanceAt(o.Video))
		}
		return ""
	}
	from := w.Length(*o.Distance)
	if o.DistanceTo != nil {
		from = w.l.Say("between", from, w.Length(*o.DistanceTo))
	}
	if w.approximate(o) {
		return w.About(from)
	}
	return from
}

// approximate reports whether an observation's distance is that of the track where it
// lies across a long gap between readings. The log's own distance was read by a person.
func (w *Wording) approximate(o *timeline.Observation) bool {
	if o.Entry != nil && o.Entry.Distance != nil || w.t.Track == nil {
		return false
	}
	p := w.t.DistanceAt(o.Video)
	return p.State == distance.About && (o.Distance == nil || p.Metres == *o.Distance)
}

// WhereShown is Where as a caption on the picture of moment v has it: where nothing is
// known of the observation's own distance, how far the camera was. o may be nil.
func (w *Wording) WhereShown(o *timeline.Observation, v timecode.Video) string {
	switch {
	case o == nil:
		return w.DistanceAt(v)
	case o.Distance == nil:
		return w.DistanceAt(o.Video)
	case o.DistanceTo != nil && !w.approximate(o):
		return w.Length(*o.Distance) // the still shows where the stretch begins
	}
	return w.Where(o)
}

// WidestDistance is a text at least as wide as any that DistanceAt and WhereShown give,
// in a font whose digits are all of one width. The track never goes past its readings.
func (w *Wording) WidestDistance() string {
	if w.t.Track == nil {
		return ""
	}
	widest, negative := distance.Metres(0), false
	take := func(m distance.Metres) {
		widest = max(widest, distance.Metres(math.Abs(float64(m))))
		negative = negative || m < 0
	}
	for _, r := range w.t.Track.Readings() {
		take(w.t.DistanceAt(r.At).Metres)
	}
	for i := range w.t.Observations {
		if m := w.t.Observations[i].Distance; m != nil {
			take(*m)
		}
	}
	if negative {
		widest = -widest
	}
	return w.About(w.Length(widest))
}

// LengthInName is the distance as a file name has it, with a point in every language:
// "12.4m"; "" when unknown.
func (w *Wording) LengthInName(o *timeline.Observation) string {
	if o.Distance == nil {
		return ""
	}
	return strings.ReplaceAll(o.Distance.Format(w.t.Sheet.Job.Units, '.'), " ", "")
}

// ClockPosition is the position round the wall: "at 3 o'clock", "from 9 to 3 o'clock";
// "" where the log names none.
func (w *Wording) ClockPosition(o *timeline.Observation) string {
	if o.Entry == nil || o.Entry.Clock == nil {
		return ""
	}
	return w.l.Clock(o.Entry.Clock.From, o.Entry.Clock.To)
}

// Depth is how deep below the ground an observation was located; "" where it wasn't.
func (w *Wording) Depth(row *fieldlog.Row) string {
	if row == nil || row.Depth == nil {
		return ""
	}
	return w.l.Say("depth", w.Length(row.Depth.Metres))
}

// Size is how large the technician noted it to be; "" where the log names no size.
func (w *Wording) Size(row *fieldlog.Row) string {
	if row == nil || row.Size == "" {
		return ""
	}
	return w.l.Say("size", row.Size)
}

// OnScale is a number of the job's units on a scale that is marked every step, with as
// many decimals as the step needs.
func (w *Wording) OnScale(value, step float64) string {
	decimals := max(0, int(math.Ceil(-math.Log10(step)-1e-9)))
	return w.decimal(strconv.FormatFloat(value, 'f', decimals, 64))
}

// Places are the facts of where an observation is, along the line and round the wall.
func (w *Wording) Places(o *timeline.Observation) []string {
	var facts []string
	for _, fact := range []string{w.Where(o), w.ClockPosition(o)} {
		if fact != "" {
			facts = append(facts, fact)
		}
	}
	return facts
}
