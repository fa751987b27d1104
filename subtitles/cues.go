package subtitles

import (
	"slices"
	"strings"
	"time"

	"pushcue/timeline"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// Cues puts a timeline's observations into cues for a file that shows the recording
// from from up to to; their times count from from. The rules, the stronger first: a
// cue starts on the frame where its observation is placed; none overlaps another;
// none goes beyond the end of a part or of the file; each can be read before the
// next one starts, at 0.33 to 0.375 s a word (BBC Subtitle Guidelines: 160 to 180
// words a minute), number and kind first, then as much of the note as fits; each
// stands for at least 1.5 s; two lines of 42 characters, what is longer going on in
// the cues that follow. Observations within 1.5 s of a cue's first share it. Only
// where number and kind alone don't fit must they be read faster.
//
// A note that hasn't ended where a part or a file does goes on in the next, after
// its number and kind again.
func Cues(t *timeline.Timeline, lang *words.Language, from, to timecode.Video) []Cue {
	end := t.Recording.End
	if t.ShowTo > 0 && to <= t.ShowTo {
		end = t.ShowTo
	}
	cuts := []timecode.Video{from, to}
	for _, p := range t.Recording.Parts {
		cuts = append(cuts, p.Start.Add(p.Duration))
	}
	slices.Sort(cuts)

	var cues []Cue
	groups := share(announcements(t, lang))
	for i, g := range groups {
		until := end
		if i+1 < len(groups) {
			until = min(end, groups[i+1][0].at)
		}
		if until <= from || g[0].at >= to {
			continue
		}
		for _, c := range layOut(g, stretches(g[0].at, until, cuts), lang.Say("more-on-page")) {
			if c.From >= from && c.From < to {
				c.From, c.To = c.From-from, c.To-from
				cues = append(cues, c)
			}
		}
	}
	return cues
}

// share puts together what is announced within the shortest time of a first one.
func share(all []announcement) [][]announcement {
	var groups [][]announcement
	for _, a := range all {
		last := len(groups) - 1
		if last >= 0 && a.at.Sub(groups[last][0].at) < shortest {
			groups[last] = append(groups[last], a)
			continue
		}
		groups = append(groups, []announcement{a})
	}
	return groups
}

// A stretch is an unbroken time for cues: no part ends in it.
type stretch struct{ from, until timecode.Video }

// room is the stretch's length in whole milliseconds, which is what files count in.
func (s stretch) room() time.Duration { return s.until.Sub(s.from).Truncate(time.Millisecond) }

// stretches cuts the time from at until until at the cuts within it.
func stretches(at, until timecode.Video, cuts []timecode.Video) []stretch {
	var all []stretch
	for _, cut := range cuts {
		if cut > at && cut < until {
			all = append(all, stretch{at, cut})
			at = cut
		}
	}
	if at < until {
		all = append(all, stretch{at, until})
	}
	return all
}

// script is the words of one group, cut into pieces.
type script struct {
	head  []string // numbers and kinds: they come first
	rest  []string
	more  []string // "… more on the page"
	colon string
}

func newScript(g []announcement, more string) script {
	var heads, rest []string
	for _, a := range g {
		heads = append(heads, a.head)
		own := a.rest(len(g) > 1)
		if len(rest) > 0 && len(own) > 0 {
			rest = append(rest, "·")
		}
		rest = append(rest, own...)
	}
	return script{head: pieces(strings.Join(heads, " · ")), rest: rest, more: pieces(more), colon: g[0].colon}
}

// first is the first n pieces, with a colon where the rest follows number and kind.
func (s script) first(n int) []string {
	h := len(s.head)
	if n <= h || h == 0 {
		return slices.Clone(s.head[:n])
	}
	all := slices.Concat(s.head, s.rest[:n-h])
	if width(all[h-1]+s.colon) <= perLine {
		all[h-1] += s.colon
	}
	return all
}

func (s script) length() int { return len(s.head) + len(s.rest) }

// layOut gives the words of a group their times in the stretches up to the next
// group's start.
func layOut(g []announcement, in []stretch, more string) []Cue {
	s := newScript(g, more)
	var numbers []int
	for _, a := range g {
		if !slices.Contains(numbers, a.number) {
			numbers = append(numbers, a.number)
		}
	}
	var cues []Cue
	for i, here := range in {
		pages, left := s.fill(here.room(), in[i+1:], i == 0)
		at := here.from
		for _, timed := range spread(pages, here.room()) {
			until := min(at.Add(timed.time), here.until)
			cues = append(cues, Cue{From: at, To: until, Lines: timed.lines, Observations: numbers})
			at = until
		}
		if len(left) == 0 {
			break
		}
		s.rest = left
	}
	return cues
}

// fill takes as many words as can be read in room, and leaves the others for the
// stretches later, where some of them fit there. The first stretch shows number and
// kind in any case.
func (s script) fill(room time.Duration, later []stretch, first bool) (pages []page, left []string) {
	if pages := paginate(s.first(s.length())); readingTime(pages, fastWord) <= room {
		return pages, nil
	}
	if len(later) > 0 && s.fitsSome(later[0].room()) {
		if n := s.readable(nil, room); n > len(s.head) {
			return paginate(s.first(n)), s.rest[n-len(s.head):]
		}
		if first {
			return s.fillHead(room), s.rest
		}
		return nil, s.rest
	}
	if n := s.readable(s.more, room); n >= len(s.head) {
		return paginate(slices.Concat(withoutTail(s.first(n)), s.more)), nil
	}
	if first {
		return s.fillHead(room), nil
	}
	return nil, nil
}

// fitsSome tells whether number, kind and a word of the rest can be read in room.
func (s script) fitsSome(room time.Duration) bool {
	return len(s.rest) > 0 && s.readable(s.more, room) > len(s.head)
}

// fillHead shows number and kind alone, faster than anybody reads if it must be. Of
// more observations than can follow each other as pages, the first ones are shown.
func (s script) fillHead(room time.Duration) []page {
	pages := paginate(s.head)
	most := max(1, int(room/shortest))
	if len(pages) <= most {
		return pages
	}
	n := largest(len(s.head), func(n int) bool { return len(paginate(slices.Concat(s.head[:n], s.more))) <= most })
	return paginate(slices.Concat(withoutTail(s.head[:n]), s.more))
}

// readable is how many pieces, with tail after them, can be read in room.
func (s script) readable(tail []string, room time.Duration) int {
	return largest(s.length(), func(n int) bool {
		return readingTime(paginate(slices.Concat(s.first(n), tail)), fastWord) <= room
	})
}

// largest is the greatest n up to most for which ok holds, of an ok that once it
// fails goes on failing; 0 for none.
func largest(most int, ok func(n int) bool) int {
	low, high := 0, most
	for low < high {
		middle := (low + high + 1) / 2
		if ok(middle) {
			low = middle
		} else {
			high = middle - 1
		}
	}
	return low
}

// withoutTail drops marks that would stand between a word and "… more".
func withoutTail(pieces []string) []string {
	for len(pieces) > 0 && wordCount(pieces[len(pieces)-1]) == 0 {
		pieces = pieces[:len(pieces)-1]
	}
	return pieces
}

type timedPage struct {
	page
	time time.Duration
}

// spread gives pages their times: as slow as there is room for, up to the slow
// reader's pace; where there isn't even the fast one's, what there is.
func spread(pages []page, room time.Duration) []timedPage {
	fast, slow := readingTime(pages, fastWord), readingTime(pages, slowWord)
	all := make([]timedPage, len(pages))
	for i, p := range pages {
		quick, easy := p.time(fastWord), p.time(slowWord)
		d := easy
		switch {
		case slow <= room:
		case fast <= room:
			d = quick + time.Duration(float64(easy-quick)*float64(room-fast)/float64(slow-fast))
		default:
			d = hurried(p, pages, room)
		}
		all[i] = timedPage{p, d.Truncate(time.Millisecond)}
	}
	return all
}

// hurried is a page's time where reading time yields: the shortest, and of what is
// left a share as large as its want.
func hurried(p page, pages []page, room time.Duration) time.Duration {
	least := min(shortest, room/time.Duration(len(pages)))
	wanted := readingTime(pages, fastWord) - least*time.Duration(len(pages))
	free := room - least*time.Duration(len(pages))
	return least + time.Duration(float64(free)*float64(p.time(fastWord)-least)/float64(wanted))
}
