package wording

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"pushcue/timeline"
	"pushcue/timeline/clock"
	"pushcue/timeline/codes"
	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
)

// HowKnown says in short sentences how dates, times and distances are known, and how far
// they can be relied on: why the picture may show another time or distance than the
// captions, how the rows were placed, and what "give or take" means.
func (w *Wording) HowKnown() []string {
	var all []string
	add := func(sentences ...string) {
		for _, s := range sentences {
			if s != "" {
				all = append(all, s)
			}
		}
	}
	add(w.howTied(), w.howPart(), w.howTime(), w.howAhead(), w.howRecorder(), w.howZero())
	add(w.howDistance()...)
	add(w.howPlaced())
	if slices.ContainsFunc(w.t.Observations, func(o timeline.Observation) bool { return w.GiveOrTake(&o) != "" }) {
		add(w.l.Say("known-plus-minus"))
	}
	return all
}

// howTied says what ties the log's clock to the recording.
func (w *Wording) howTied() string {
	switch {
	case w.t.Clock == nil && !w.anyTime():
		return ""
	case w.t.Clock == nil:
		return w.l.Say("known-clock-none")
	}
	switch w.t.Clock.Basis {
	case clock.Anchors:
		return w.l.Say("known-clock-anchors")
	case clock.Starts:
		return w.l.Say("known-clock-starts")
	case clock.Track:
		return w.l.Say("known-clock-track")
	}
	return ""
}

// anyTime reports whether the log has a time.
func (w *Wording) anyTime() bool {
	return w.t.Log != nil && slices.ContainsFunc(w.t.Log.Rows, func(r fieldlog.Row) bool { return r.Time != nil })
}

// howPart says that a part of the recording isn't tied.
func (w *Wording) howPart() string {
	if w.t.Clock != nil && slices.ContainsFunc(w.t.Clock.Segments, func(s clock.Segment) bool { return !s.Tied }) {
		return w.l.Say("known-clock-part")
	}
	return ""
}

// howTime says where true time comes from, where that is the recorder's clock or a file.
func (w *Wording) howTime() string {
	switch all, some := w.uncheckedTime(); {
	case all, w.t.Clock != nil && w.t.Clock.Basis == clock.FileTimes && w.t.TimeSource(w.t.ShowFrom) == "":
		return w.l.Say("known-clock-weak")
	case some:
		return w.l.Say("known-clock-partly")
	case w.t.TimeSource(w.t.ShowFrom) == timeline.TimeByCorrectedRecorder:
		return w.l.Say("known-clock-corrected")
	}
	return ""
}

// howAhead says that the log's clock was wrong by a known amount.
func (w *Wording) howAhead() string {
	ahead := w.t.Sheet.Log.Ahead
	switch {
	case ahead == nil || *ahead == 0:
		return ""
	case *ahead > 0:
		return w.l.Say("known-log-ahead", Span(*ahead))
	}
	return w.l.Say("known-log-behind", Span(-*ahead))
}

// howRecorder compares the recorder's clock, as it stands in the picture, with true time.
func (w *Wording) howRecorder() string {
	for _, p := range w.t.Recording.Parts {
		at, known := w.trueTime(p.Start)
		if p.Shown == nil || !known || w.t.TimeSource(p.Start).Unchecked() {
			continue
		}
		civil := time.Date(at.Year(), at.Month(), at.Day(), at.Hour(), at.Minute(), at.Second(), 0, time.UTC)
		off := p.Shown.At.Sub(civil)
		if !p.Shown.Dated { // only the time of day can be compared
			const day = 24 * time.Hour
			clockOnly := p.Shown.At.Sub(p.Shown.At.Truncate(day)) - civil.Sub(civil.Truncate(day))
			off = (clockOnly+36*time.Hour)%day - 12*time.Hour
		}
		switch off = off.Round(time.Second); {
		case off.Abs() < 2*time.Second: // both are cut to whole seconds
			return w.l.Say("known-recorder-right")
		case off > 0:
			return w.l.Say("known-recorder-ahead", Span(off))
		default:
			return w.l.Say("known-recorder-behind", Span(-off))
		}
	}
	return ""
}

// howZero says why the captions' distances differ from the counter's in the picture.
func (w *Wording) howZero() string {
	if zero := w.t.Sheet.Distance.Zero; zero != 0 {
		return w.l.Say("known-zero", w.Length(zero))
	}
	return ""
}

// howDistance says where distances come from and how they were checked.
func (w *Wording) howDistance() []string {
	sources := w.t.Track.Sources()
	if len(sources) == 0 && !w.anyDistance() {
		return nil
	}
	var all []string
	for _, s := range sources {
		switch {
		case s == distance.FromPicture && w.t.Sheet.Counter.Confirmed:
			all = append(all, w.l.Say("known-counter-confirmed"))
		case s == distance.FromPicture:
			all = append(all, w.l.Say("known-counter-unconfirmed"))
		case s == distance.FromFile:
			all = append(all, w.l.Say("known-readings"))
		}
	}
	if len(sources) == 0 || slices.Equal(sources, []distance.Source{distance.FromLog}) {
		all = append(all, w.l.Say("known-distances-log"))
	}
	if n := len(w.t.Track.Resets()); n > 0 {
		all = append(all, w.counted("known-resets", n))
	}
	if n := len(w.t.Sheet.Distance.Taped); n > 0 {
		return append(all, w.counted("known-taped", n))
	}
	return append(all, w.l.Say("known-not-taped"))
}

func (w *Wording) anyDistance() bool {
	for i := range w.t.Observations {
		if w.t.Observations[i].Distance != nil {
			return true
		}
	}
	return false
}

// howPlaced counts what the observations were placed by.
func (w *Wording) howPlaced() string {
	count := map[string]int{}
	for i := range w.t.Observations {
		count[placedBy[w.t.Observations[i].Basis]]++
	}
	var parts []string
	for _, key := range []string{"known-by-person", "known-by-video", "known-by-clock", "known-by-weak", "known-by-both", "known-by-distance"} {
		if n := count[key]; n > 0 {
			parts = append(parts, w.counted(key, n))
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return w.l.Say("known-placed", w.listed(parts))
}

var placedBy = map[timeline.Basis]string{
	timeline.ByPerson: "known-by-person", timeline.ByVideo: "known-by-video",
	timeline.ByAnchor: "known-by-clock", timeline.ByStart: "known-by-clock", timeline.ByTrack: "known-by-clock", timeline.ByFileTime: "known-by-weak",
	timeline.ByDwell: "known-by-both", timeline.ByDistance: "known-by-distance",
}

// HowWhere says beside an observation how its distance is known, since people dig by it;
// "" without a distance. Where the counter showed another distance at that moment, it
// says so.
func (w *Wording) HowWhere(o *timeline.Observation) string {
	if w.Where(o) == "" {
		return ""
	}
	own := o.Entry != nil && o.Entry.Distance != nil
	var how string
	switch {
	case w.approximate(o):
		how = w.l.Say("where-about")
	case !own && w.unconfirmed():
		how = w.l.Say("where-unconfirmed")
	case len(w.t.Sheet.Distance.Taped) == 0:
		how = w.l.Say("where-not-taped")
	default:
		how = w.l.Say("where-taped", w.Length(w.halfWidth(o)))
	}
	if own && o.Track != nil && w.disagrees(o.Row) {
		how += w.l.Say("where-disagrees", w.Length(*o.Track))
	}
	return how
}

// HowRowWhere is HowWhere for a row that has no place on the recording.
func (w *Wording) HowRowWhere(row *fieldlog.Row) string {
	switch {
	case row == nil || row.Distance == nil:
		return ""
	case len(w.t.Sheet.Distance.Taped) == 0:
		return w.l.Say("where-not-taped")
	}
	at := w.corrected(row.Distance)
	return w.HowWhere(&timeline.Observation{Entry: row, Distance: at})
}

// unconfirmed reports whether distances were read off the picture and nobody said that
// they are right.
func (w *Wording) unconfirmed() bool {
	return !w.t.Sheet.Counter.Confirmed && slices.Contains(w.t.Track.Sources(), distance.FromPicture)
}

// disagrees reports whether the counter showed another distance than a row's.
func (w *Wording) disagrees(row int) bool {
	return slices.ContainsFunc(w.t.Warnings, func(one timeline.Warning) bool { return one.Code == codes.DistanceDisagrees && one.Row == row })
}

// OtherMoments says that the camera was at an observation's distance at other times too;
// "" where it wasn't, or where more than the distance places it.
func (w *Wording) OtherMoments(o *timeline.Observation) string {
	if slices.ContainsFunc(w.t.Warnings, func(one timeline.Warning) bool { return one.Code == codes.SeveralPasses && one.Row == o.Row }) {
		return w.l.Say("when-other-moments")
	}
	return ""
}

// GiveOrTake is the ± of the moment at which an observation was seen; "" below a second,
// which no time shown tells.
func (w *Wording) GiveOrTake(o *timeline.Observation) string {
	if o.Uncertainty < time.Second {
		return ""
	}
	if before, after, lopsided := o.Lopsided(); lopsided {
		return w.l.Say("page-between", w.Half(before), w.Half(after))
	}
	return w.l.Say("page-plus-minus", w.Half(o.Uncertainty))
}

// halfWidth is the half-width that holds an observation's distance in 95 % of cases, as
// far as rounding goes: of the counter or of the distance as written, of the zero, and of
// the taped length, whose error grows in proportion beyond it. Each is taken as spread
// evenly over its last digit, so that its 95 % half-width is 0.95 times half a step; they
// add as independent errors do (square root of the sum of squares). Never less than a
// tenth, which is what is shown.
func (w *Wording) halfWidth(o *timeline.Observation) distance.Metres {
	const tenth = 0.1 // metres; zeros and taped lengths are given to a decimetre (common practice, no published source)
	step := distance.Metres(tenth)
	if o.Entry != nil && o.Entry.Distance != nil {
		step = max(o.Entry.Distance.Step, 0.01)
	}
	taped := w.t.Sheet.Distance.Taped[0].Length
	for _, p := range w.t.Sheet.Distance.Taped {
		taped = max(taped, p.Length)
	}
	beyond := 1.0
	if taped > 0 {
		beyond = max(1, float64(o.Distance.Abs()/taped))
	}
	half := 0.95 / 2 * math.Sqrt(sq(float64(step))+sq(tenth)+sq(tenth*beyond))
	return distance.Metres(max(tenth, math.Ceil(half*10)/10))
}

func sq(x float64) float64 { return x * x }

// Span is a length of time in the units that all languages write alike: "1 h 2 min",
// "43 s", "12 d 3 h".
func Span(d time.Duration) string {
	d = d.Round(time.Second)
	var parts []string
	for _, u := range []struct {
		size time.Duration
		name string
	}{{24 * time.Hour, "d"}, {time.Hour, "h"}, {time.Minute, "min"}, {time.Second, "s"}} {
		if n := d / u.size; n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, u.name))
			d -= n * u.size
		}
	}
	if len(parts) == 0 {
		return "0 s"
	}
	return strings.Join(parts, " ")
}
