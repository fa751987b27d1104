package subtitles

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pushcue/timeline"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// An announcement is something to be said at one moment: an observation, or the end
// of one that goes on over a length.
type announcement struct {
	at     timecode.Video // a frame's time
	number int
	head   string // number and kind
	rest   string // where, and the note; may be empty
}

// announcements lists what there is to say, in order of time. What the customer
// isn't shown isn't said.
func announcements(t *timeline.Timeline, lang *words.Language) []announcement {
	var all []announcement
	for i := range t.Observations {
		o := &t.Observations[i]
		if o.Hidden {
			continue
		}
		a := announcement{at: o.Video, number: o.Number, head: label(o, lang), rest: detail(t, o, lang)}
		if end, goesOn := stretchEnd(t, o); goesOn {
			all = append(all, announcement{at: end, number: o.Number, head: lang.Say("stretch-ends", a.head)})
			a.head = lang.Say("stretch-starts", a.head)
		}
		all = append(all, a)
	}
	slices.SortStableFunc(all, func(a, b announcement) int {
		return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(a.number, b.number))
	})
	return all
}

// stretchEnd is the frame on which a stretch ends.
func stretchEnd(t *timeline.Timeline, o *timeline.Observation) (timecode.Video, bool) {
	if o.VideoEnd == nil || *o.VideoEnd <= o.Video {
		return 0, false
	}
	if len(t.Recording.Frames) == 0 {
		return *o.VideoEnd, true
	}
	_, at, _ := t.FrameAt(*o.VideoEnd)
	return at, at > o.Video
}

// label is number and kind: "3. roots".
func label(o *timeline.Observation, lang *words.Language) string {
	what := ""
	if o.Entry != nil {
		what = clean(o.Entry.What.Text)
		if o.Entry.What.Key != "" {
			what = lang.Kind(o.Entry.What.Key)
		}
	}
	if what == "" {
		return lang.Say("observation", o.Number)
	}
	return fmt.Sprintf("%d. %s", o.Number, what)
}

// detail is where it is, round the wall and along the line, and what was noted.
func detail(t *timeline.Timeline, o *timeline.Observation, lang *words.Language) string {
	var where []string
	if o.Distance != nil {
		at := o.Distance.Format(t.Sheet.Job.Units, lang.Decimal)
		if o.DistanceTo != nil {
			at = lang.Say("between", at, o.DistanceTo.Format(t.Sheet.Job.Units, lang.Decimal))
		}
		where = append(where, at)
	}
	if o.Entry == nil {
		return strings.Join(where, ", ")
	}
	if c := o.Entry.Clock; c != nil {
		where = append(where, lang.Clock(c.From, c.To))
	}
	text := strings.Join(where, ", ")
	if note := clean(o.Entry.Note); note != "" && text != "" {
		text += ": " + note
	} else {
		text += note
	}
	return text
}
