package subtitles

import (
	"cmp"
	"fmt"
	"slices"

	"pushcue/timeline"
	"pushcue/timeline/timecode"
	"pushcue/timeline/wording"
	"pushcue/timeline/words"
)

// An announcement is something to be said at one moment: an observation, or the end
// of one that goes on over a length.
type announcement struct {
	at     timecode.Video // a frame's time
	number int
	head   string // number and kind
	where  []string
	note   string
	colon  string // as the language sets it
}

// announcements lists what there is to say, in order of time. What the customer
// isn't shown isn't said.
func announcements(t *timeline.Timeline, lang *words.Language) []announcement {
	said := wording.In(lang, t)
	var all []announcement
	for i := range t.Observations {
		o := &t.Observations[i]
		if o.Hidden {
			continue
		}
		a := announcement{at: o.Video, number: o.Number, head: clean(said.Label(o)), where: said.Places(o), note: clean(said.Note(o.Entry)), colon: lang.Say("page-colon")}
		if end, goesOn := stretchEnd(t, o); goesOn {
			all = append(all, announcement{at: end, number: o.Number, head: lang.Say("stretch-ends", a.head), colon: a.colon})
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

// rest is what follows number and kind, in pieces: each fact of where it is whole,
// since half of one tells nothing, then the words of the note. named puts the number
// ahead of it.
func (a announcement) rest(named bool) []string {
	var all []string
	for i, fact := range a.where {
		switch {
		case i+1 < len(a.where):
			fact += ","
		case a.note != "":
			fact += a.colon
		}
		all = append(all, whole(fact)...)
	}
	all = append(all, pieces(a.note)...)
	if named && len(all) > 0 {
		number := fmt.Sprintf("%d%s", a.number, a.colon)
		all = slices.Concat(whole(number+" "+all[0]), all[1:])
	}
	return all
}

// whole is a text as one piece, where a line holds it.
func whole(text string) []string {
	if width(text) <= perLine {
		return []string{text}
	}
	return pieces(text)
}
