package review

import (
	"maps"
	"net/http"
	"slices"
	"strings"

	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/edits"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// A dilemma is a correction that can be meant in several ways: the page asks which one.
type dilemma struct {
	text, hint words.Sentence
	ways       []answer
}

func (d *dilemma) Error() string { return d.text.String() }

// An answer to a dilemma: the page sends its orders one after the other.
type answer struct {
	label words.Sentence
	edits []map[string]any
}

// offer is an answer as the page shows it.
type offer struct {
	Label string           `json:"label"`
	Edits []map[string]any `json:"edits"`
}

// mostOffered passings of a distance are offered, those nearest to the picture.
const mostOffered = 5

// pointed compares a typed distance with what the picture shows, and asks where the two
// don't go together. A new observation whose distance the track shows once, elsewhere, is
// left to the track: it goes there, and keeps the track's uncertainty.
func (t *sitting) pointed(v *view, o order, e *edits.Edit) error {
	if e.What != edits.Add && e.What != edits.Set || v.placed == nil {
		return nil
	}
	if err := t.inItsUnit(v, o, e); err != nil {
		return err
	}
	text, _ := e.Values["distance"].(string)
	from, _, err := v.written.TypedLengths(text, v.options)
	if o.Sure || err != nil || from == nil { // what is wrong with it is told when it is applied
		return nil
	}
	at, found := v.pictureOf(*e)
	if !found {
		return nil
	}
	seen, known := v.placed.Timeline.Pointed(*from, at)
	switch {
	case !known || seen.Agrees:
		return nil
	case e.What == edits.Add && len(seen.At) == 1 && seen.Here != nil && !seen.Guessed:
		e.Video = nil
		return nil
	}
	return v.whichMoment(*e, text, at, seen)
}

// pictureOf is the picture in which the observation that e is about was seen by a person.
func (v *view) pictureOf(e edits.Edit) (at timecode.Video, found bool) {
	if e.What == edits.Add {
		if e.Video == nil {
			return 0, false
		}
		return timecode.VideoSeconds(*e.Video), true
	}
	for _, o := range v.placed.Timeline.Observations {
		if o.Basis == timeline.ByPerson && (e.On != "" && o.Entry.Added == e.On || e.On == "" && o.Row == e.Row) {
			return o.Video, true
		}
	}
	return 0, false
}

// whichMoment asks in which picture a distance was seen.
func (v *view) whichMoment(e edits.Edit, text string, at timecode.Video, seen timeline.Pointed) error {
	d := &dilemma{}
	units := v.job.Sheet.Job.Units
	if seen.Here != nil {
		d.text = words.Tell("by the counter the picture at %s is %s along the line, and %s was typed", at, seen.Here.Shown(units), words.Quoted(text))
	} else {
		d.text = words.Tell("the counter can't be read in the picture at %s, and %s was typed", at, words.Quoted(text))
	}
	switch {
	case len(seen.At) == 0:
		d.hint = words.Tell("the counter never shows that distance: correct it, or keep it for this picture")
	case len(seen.At) > 1:
		d.hint = words.Tell("the camera was at that distance %d times: which picture is meant?", len(seen.At))
	case seen.Guessed:
		d.hint = words.Tell("nobody has confirmed the counter yet: which picture is meant?")
	default:
		d.hint = words.Tell("which picture is meant?")
	}
	values := map[string]any{"what": e.What, "values": e.Values, "sure": true}
	if e.What == edits.Set {
		values["row"], values["on"] = e.Row, e.On
	}
	with := func(video timecode.Video) map[string]any {
		one := maps.Clone(values)
		one["video_s"] = video.Seconds()
		return one
	}
	for _, p := range nearest(seen.At, at) {
		_, frame, _ := v.placed.Timeline.FrameAt(p.At)
		way := answer{label: passingTold(p, v)}
		if e.What == edits.Add {
			way.edits = []map[string]any{with(frame)}
		} else {
			way.edits = []map[string]any{{"what": edits.Seen, "row": e.Row, "on": e.On, "video_s": frame.Seconds()}, values}
		}
		d.ways = append(d.ways, way)
	}
	stays := answer{label: words.Tell("In the picture at %s", at), edits: []map[string]any{values}}
	if e.What == edits.Add {
		stays.edits = []map[string]any{with(at)}
	}
	d.ways = append(d.ways, stays)
	return d
}

// nearest are the passings nearest to a moment, in video order.
func nearest(all []timeline.Passing, at timecode.Video) []timeline.Passing {
	away := func(p timeline.Passing) timecode.Video { return max(p.At-at, at-p.At) }
	all = slices.Clone(all)
	slices.SortStableFunc(all, func(a, b timeline.Passing) int { return int(away(a) - away(b)) })
	all = all[:min(len(all), mostOffered)]
	slices.SortFunc(all, func(a, b timeline.Passing) int { return int(a.At - b.At) })
	return all
}

func passingTold(p timeline.Passing, v *view) words.Sentence {
	told := words.Tell("At %s, where the camera passed it", p.At)
	if p.Stood {
		told = words.Tell("At %s, where the camera stood", p.At)
	}
	if len(v.placed.Timeline.Track.Resets()) > 0 { // the same reading, at several places
		told = words.Tell("%s, %s along the line", told, p.Metres.Shown(v.job.Sheet.Job.Units))
	}
	return told
}

// inItsUnit gives typed lengths without a unit the one that a person means, and asks for it
// where the counter in the picture counts in another one than the job. The answer holds for
// what is typed next.
func (t *sitting) inItsUnit(v *view, o order, e *edits.Edit) error {
	if o.Unit != "" && !slices.Contains(choicesOf("counter.unit"), o.Unit) {
		return rejected(http.StatusUnprocessableEntity, words.Tell("lengths are shown in metres or feet"), words.Sentence{})
	}
	for _, column := range []string{"distance", "to"} {
		text, _ := e.Values[column].(string)
		if !isBare(text, v) {
			continue
		}
		unit := t.typedUnit(v)
		switch counter, read := v.placed.CounterRead(); {
		case o.Unit != "":
			unit = o.Unit
			t.unit.Store(unit)
		case t.unit.Load() != nil || !read || counter.Unit == "" || counter.Unit == unit:
		default:
			return whichUnit(o, column, text, unit, counter.Unit)
		}
		e.Values = maps.Clone(e.Values)
		if unit != string(v.written.TypedUnit(v.options)) {
			e.Values[column] = strings.TrimSpace(text) + " " + unit
		}
	}
	return nil
}

// typedUnit is the unit that a typed length without one is taken to be in.
func (t *sitting) typedUnit(v *view) string {
	if chosen, ok := t.unit.Load().(string); ok {
		return chosen
	}
	if unit := v.written.TypedUnit(v.options); unit != "" {
		return string(unit)
	}
	return string(distance.Metre)
}

// isBare reports whether a text is a length, or two, whose unit isn't written.
func isBare(text string, v *view) bool {
	read := func(u distance.Unit) (distance.Metres, bool) {
		var none *fieldlog.Log
		options := v.options
		options.Unit = u
		from, _, err := none.TypedLengths(text, options)
		if err != nil || from == nil {
			return 0, false
		}
		return from.Metres, true
	}
	a, ok := read(distance.Metre)
	b, _ := read(distance.Foot)
	return ok && a != b
}

// whichUnit asks for the unit of a length.
func whichUnit(o order, column, text, unit, counter string) error {
	d := &dilemma{text: words.Tell("the counter in the picture counts in %s, and the job in %s", counter, unit), hint: words.Tell("which unit does %s have?", words.Quoted(text))}
	for _, u := range []string{counter, unit} {
		one := map[string]any{"what": o.What, "values": o.Values, "unit": u, "row": o.Row, "on": o.On}
		if o.Frame != nil {
			one["frame"] = *o.Frame
		}
		d.ways = append(d.ways, answer{words.Plain("%s %s", strings.TrimSpace(text), u), []map[string]any{one}})
	}
	return d
}

// offersOf are the answers in the page's language.
func (d *dilemma) offersOf(l *words.Language) (all []offer) {
	for _, w := range d.ways {
		all = append(all, offer{l.Put(w.label), w.edits})
	}
	return all
}
