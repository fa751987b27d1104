package overlay

import (
	"slices"
	"sort"
	"time"

	"pushcue/timeline"
)

// A mark is a moment at which the words on what is seen change.
type mark struct {
	row   int // of the log
	frame int // from this one on
	until int // up to this one, without it
	label string
	note  string
}

// together is how close observations must be to share their words: with less time
// nobody could read the first before the next takes its place.
const together = 1500 * time.Millisecond

// marks are those of all observations shown, each until the next or until its
// excerpt ends.
func (s *teller) marks() []mark {
	var ms []mark
	byNumber := map[int]*timeline.Observation{}
	for i := range s.t.Observations {
		byNumber[s.t.Observations[i].Number] = &s.t.Observations[i]
	}
	split := map[int]bool{}
	plan := PlanFindings(s.t)
	for _, e := range plan.Excerpts {
		split[e.Observation] = split[e.Observation] || e.End
	}
	for _, e := range plan.Excerpts {
		o := byNumber[e.Observation]
		m := mark{row: o.Row, frame: o.Frame, until: e.Last + 1, label: s.label(o)}
		if e.End {
			m.frame = frameAt(s.t.Recording.Frames, *o.VideoEnd)
			m.label = s.lang.Say("stretch-ends", m.label)
			m.note = m.label
		} else {
			if split[e.Observation] {
				m.label = s.lang.Say("stretch-starts", m.label)
			}
			m.note = s.note(m.label, o)
		}
		ms = append(ms, m)
	}
	sort.SliceStable(ms, func(i, j int) bool { return ms[i].frame < ms[j].frame })
	return s.share(ms)
}

// share puts marks close to each other into one text, which grows as they come,
// and ends each where the next begins.
func (s *teller) share(ms []mark) []mark {
	frames := s.t.Recording.Frames
	for i, first := 0, 0; i < len(ms); i++ {
		if frames[ms[i].frame].Sub(frames[ms[first].frame]) >= together {
			first = i
		}
		if i > first {
			ms[i].label = ms[i-1].label + " · " + ms[i].label
			ms[i].note = ms[i-1].note + " · " + ms[i].note
			ms[i].until = max(ms[i].until, ms[i-1].until)
		}
	}
	for i := range ms[:max(0, len(ms)-1)] {
		ms[i].until = min(ms[i].until, ms[i+1].frame)
	}
	return slices.DeleteFunc(ms, func(m mark) bool { return m.until <= m.frame })
}
