package overlay

import (
	"strings"
	"time"

	"pushcue/timeline"
	"pushcue/timeline/timecode"
	"pushcue/timeline/wording"
	"pushcue/timeline/words"
)

// A teller makes the words on a timeline fit for a caption: it keeps to the font's
// characters, and remembers which were missing.
type teller struct {
	t     *timeline.Timeline
	lang  *words.Language
	words *wording.Wording

	missing []rune // characters that the font lacks, met so far
}

func newTeller(t *timeline.Timeline, lang *words.Language) *teller {
	return &teller{t: t, lang: lang, words: wording.In(lang, t)}
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

// widestDateTime is a text at least as wide as any that TimeAt will give.
func (s *teller) widestDateTime() string {
	widest := ""
	for _, v := range s.samples() {
		if text := s.words.TimeAt(v); units(text) > units(widest) {
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
func (s *teller) label(o *timeline.Observation) string { return s.clean(s.words.Label(o)) }

// note is the label, where a stretch runs and where it lies round the wall, and what
// was written beside it.
func (s *teller) note(label string, o *timeline.Observation) string {
	text := label
	if o.DistanceTo != nil {
		text += ", " + s.words.Where(o)
	}
	if at := s.words.ClockPosition(o); at != "" {
		text += ", " + at
	}
	if note := s.clean(s.words.Note(o.Entry)); note != "" {
		text += s.lang.Say("page-colon") + " " + note
	}
	return text
}
