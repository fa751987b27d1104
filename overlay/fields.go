package overlay

import (
	"fmt"
	"math"
	"strings"
	"time"

	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// A teller turns what the timeline knows into the words of a caption.
type teller struct {
	t    *timeline.Timeline
	lang *words.Language

	distanceAt func(timecode.Video) distance.Point
	trueTime   func(timecode.Video) (time.Time, bool)
	missing    []rune // characters that the font lacks, met so far
}

func newTeller(t *timeline.Timeline, lang *words.Language) *teller {
	return &teller{t: t, lang: lang, distanceAt: t.DistanceAt, trueTime: t.TrueTime}
}

// clean is text as it can be shown; it remembers what couldn't.
func (s *teller) clean(text string) string {
	shown, missing := clean(text)
	for _, r := range missing {
		if !strings.ContainsRune(string(s.missing), r) {
			s.missing = append(s.missing, r)
		}
	}
	return shown
}

// lines name the pipe, the longest way first. What a distance counts from should
// stand beside it; where there is no room for that, the pipe's name alone will do.
func (s *teller) lines() []string {
	l := s.t.Sheet.Line
	way := ""
	switch {
	case l.From != "" && l.To != "":
		way = l.From + " → " + l.To
	case l.From != "":
		way = l.From + " →"
	case l.To != "":
		way = "→ " + l.To
	}
	if l.Name == "" && way == "" {
		return []string{s.clean(s.t.Sheet.Job.Reference)}
	}
	names := []string{join(l.Name, way)}
	if l.Travel != "" { // without it 3 and 9 o'clock could change places
		names = append(names, join(l.Name, s.lang.Say(l.Travel)))
	}
	if l.Name != "" {
		names = append(names, l.Name)
	}
	for i := range names {
		names[i] = s.clean(names[i])
	}
	if way == "" && l.Travel != "" {
		return names[1:]
	}
	return names
}

// join puts a comma between two texts where there are two.
func join(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + ", " + b
}

// distance is how far the camera was; "" in a recording of which no distance is
// known at all.
func (s *teller) distance(v timecode.Video) string {
	if s.t.Track == nil {
		return ""
	}
	return s.point(s.distanceAt(v))
}

// observed is where an observation is, as everything that names it says; without one,
// how far the camera was at v.
func (s *teller) observed(o *timeline.Observation, v timecode.Video) string {
	switch {
	case o == nil:
		return s.distance(v)
	case o.Distance == nil || s.distanceAt(o.Video).Metres == *o.Distance:
		return s.distance(o.Video) // the track's, and no surer than it
	}
	return s.metres(*o.Distance)
}

func (s *teller) point(p distance.Point) string {
	switch p.State {
	case distance.Unread:
		return s.lang.Say("no-distance")
	case distance.About:
		return s.lang.Say("about", s.metres(p.Metres))
	}
	return s.metres(p.Metres)
}

func (s *teller) metres(m distance.Metres) string {
	return m.Format(s.t.Sheet.Job.Units, s.lang.Decimal)
}

// widestDistance is a text at least as wide as any that distance and observed will
// give. The track never goes past its readings, and the font's digits are all of one
// width.
func (s *teller) widestDistance() string {
	if s.t.Track == nil {
		return ""
	}
	widest := distance.Metres(0)
	below := false
	for _, r := range s.t.Track.Readings() {
		m := s.distanceAt(r.At).Metres
		widest = max(widest, distance.Metres(math.Abs(float64(m))))
		below = below || m < 0
	}
	for i := range s.t.Observations {
		if m := s.t.Observations[i].Distance; m != nil {
			widest = max(widest, distance.Metres(math.Abs(float64(*m))))
			below = below || *m < 0
		}
	}
	if below {
		widest = -widest
	}
	return s.lang.Say("about", s.metres(widest))
}

// dateTime is true time to the second, as a clock would show it, with its zone.
// Where that isn't known it says so, beside the day where the job names it.
func (s *teller) dateTime(v timecode.Video) string {
	if at, sure := s.trueTime(v); sure {
		return s.lang.DateTime(at)
	}
	d := s.t.Sheet.Job.Date
	if d.Year == 0 {
		return s.lang.Say("no-time")
	}
	return s.lang.Date(time.Date(d.Year, d.Month, d.Day, 12, 0, 0, 0, time.UTC)) + ", " + s.lang.Say("no-time")
}

// widestDateTime is a text at least as wide as any that dateTime will give.
func (s *teller) widestDateTime() string {
	widest := ""
	for _, v := range s.samples() {
		if text := s.dateTime(v); units(text) > units(widest) {
			widest = text
		}
	}
	return widest
}

// samples are moments at which the kind of the date and time's text can change:
// the ends of what is shown and of the stretches the clock is tied over, and every
// hour, where a zone may change.
func (s *teller) samples() []timecode.Video {
	vs := []timecode.Video{s.t.ShowFrom, s.t.ShowTo - 1}
	if s.t.Clock != nil {
		for _, g := range s.t.Clock.Segments {
			vs = append(vs, g.From, g.To-1, g.To)
		}
	}
	for v := s.t.ShowFrom; v < s.t.ShowTo; v = v.Add(time.Hour) {
		vs = append(vs, v)
	}
	return vs
}

// label is an observation's number and what was seen.
func (s *teller) label(o *timeline.Observation) string {
	what := ""
	if o.Entry != nil {
		what = o.Entry.What.Text
		if o.Entry.What.Key != "" {
			what = s.lang.Kind(o.Entry.What.Key)
		}
	}
	if what = s.clean(what); what == "" {
		return s.lang.Say("observation", o.Number)
	}
	return fmt.Sprintf("%d. %s", o.Number, what)
}

// note is the label and what was written beside it.
func (s *teller) note(label string, o *timeline.Observation) string {
	if o.Entry == nil {
		return label
	}
	text := label
	if o.Distance != nil && o.DistanceTo != nil {
		text += ", " + s.lang.Say("between", s.metres(*o.Distance), s.metres(*o.DistanceTo))
	}
	if c := o.Entry.Clock; c != nil {
		text += ", " + s.lang.Clock(c.From, c.To)
	}
	if note := s.clean(o.Entry.Note); note != "" {
		text += ": " + note
	}
	return text
}
