package clock

import (
	"time"

	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// why says in one sentence why a log time has no place in the recording.
func (f *Fit) why(l timecode.Log) words.Sentence {
	before, after := f.neighbours(l)
	at := f.options.sayLog(l)
	switch {
	case before < 0 && after < 0:
		return words.Tell("nothing ties the log to the recording")
	case before < 0:
		return f.beforeAll(at, l, after)
	case after < 0:
		return f.afterAll(at, l, before)
	}
	s, t := f.Segments[before], f.Segments[after]
	if s.Part == t.Part {
		return words.Tell("%s falls between %s and %s of the recording, which was paused somewhere between: when, can't be told", at, s.To, t.From)
	}
	if p, ok := f.untied(s.Part+1, t.Part); ok {
		return words.Tell("%s is %s after the end of %s, and nothing ties %s to the log: an anchor in it would", at, saySpan(f.beyond(l, before)), partName(f.parts, s.Part), partName(f.parts, p))
	}
	return words.Tell("%s falls between %s and %s, when nothing was recorded", at, partName(f.parts, s.Part), partName(f.parts, t.Part))
}

func (f *Fit) beforeAll(at string, l timecode.Log, after int) words.Sentence {
	s := f.Segments[after]
	early := saySpan(f.short(l, after))
	if p, ok := f.untied(0, s.Part); ok {
		return words.Tell("%s is %s before %s starts, and nothing ties %s to the log: an anchor in it would", at, early, partName(f.parts, s.Part), partName(f.parts, p))
	}
	return words.Tell("%s is %s before the recording starts", at, early)
}

func (f *Fit) afterAll(at string, l timecode.Log, before int) words.Sentence {
	s := f.Segments[before]
	late := saySpan(f.beyond(l, before))
	if p, ok := f.untied(s.Part+1, len(f.parts)); ok {
		return words.Tell("%s is %s after the end of %s, and nothing ties %s to the log: an anchor in it would", at, late, partName(f.parts, s.Part), partName(f.parts, p))
	}
	return words.Tell("%s is %s after the recording ends", at, late)
}

// neighbours are the last tied segment that ended before l and the first that
// starts after it; −1 where there is none.
func (f *Fit) neighbours(l timecode.Log) (before, after int) {
	before, after = -1, -1
	for i, s := range f.Segments {
		switch {
		case !s.Tied:
		case f.beyond(l, i) > 0:
			before = i
		case after < 0 && f.short(l, i) > 0:
			after = i
		}
	}
	return before, after
}

// beyond is how long after segment i's end a log time is, short how long before
// its start.
func (f *Fit) beyond(l timecode.Log, i int) time.Duration {
	return f.logSpan(f.logAt(f.beliefs[i], f.Segments[i].To), l)
}

func (f *Fit) short(l timecode.Log, i int) time.Duration {
	return f.logSpan(l, f.Segments[i].LogAtFrom)
}

// logSpan is the time between two log moments, however far apart they are.
func (f *Fit) logSpan(from, to timecode.Log) time.Duration {
	return seconds(f.secondsOf(to) - f.secondsOf(from))
}

// untied is the first part in from … to−1 that nothing ties.
func (f *Fit) untied(from, to int) (part int, ok bool) {
	tied := make([]bool, len(f.parts))
	for _, s := range f.Segments {
		tied[s.Part] = tied[s.Part] || s.Tied
	}
	for p := from; p < to; p++ {
		if !tied[p] {
			return p, true
		}
	}
	return 0, false
}
