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
// excerpt ends. A stretch has one at each end, unless it is over before both could
// be read.
func (s *teller) marks() []mark {
	var ms []mark
	byNumber := map[int]*timeline.Observation{}
	for i := range s.t.Observations {
		byNumber[s.t.Observations[i].Number] = &s.t.Observations[i]
	}
	for _, e := range PlanFindings(s.t).Excerpts {
		o := byNumber[e.Observation]
		label := s.label(o)
		goesOn := o.VideoEnd != nil && o.VideoEnd.Sub(o.Video) >= together
		if goesOn {
			end := frameAt(s.t.Recording.Frames, *o.VideoEnd)
			if text := s.lang.Say("stretch-ends", label); e.First <= end && end <= e.Last {
				ms = append(ms, mark{row: o.Row, frame: end, until: e.Last + 1, label: text, note: text})
			}
			label = s.lang.Say("stretch-starts", label)
		}
		if !e.End {
			ms = append(ms, mark{row: o.Row, frame: o.Frame, until: e.Last + 1, label: label, note: s.note(label, o)})
		}
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
			ms[i].label = both(ms[i-1].label, ms[i].label)
			ms[i].note = both(ms[i-1].note, ms[i].note)
			ms[i].until = max(ms[i].until, ms[i-1].until)
		}
	}
	for i := range ms[:max(0, len(ms)-1)] {
		ms[i].until = min(ms[i].until, ms[i+1].frame)
	}
	return slices.DeleteFunc(ms, func(m mark) bool { return m.until <= m.frame })
}

// both puts two texts together, unless the first alone is more than any strip holds.
func both(a, b string) string {
	const plenty = 2000
	if len(a) > plenty {
		return a
	}
	return a + " · " + b
}
