package clock

import (
	"math"
	"time"

	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// Video places a moment of the log's clock, written with a resolution of ± half,
// on the recording. uncertainty is the half-width that holds the truth in 95 % of
// cases. A moment outside a part by less than its ± is placed on the part's first
// or last moment, since what was seen was filmed. ok false: it can't be placed,
// and cause says why in one sentence.
func (f *Fit) Video(l timecode.Log, half time.Duration) (v timecode.Video, uncertainty time.Duration, ok bool, cause words.Sentence) {
	s, past := f.segmentOf(l)
	if s < 0 {
		return 0, 0, false, f.why(l)
	}
	b := f.beliefs[s]
	t := f.secondsOf(l)
	x := b.recording(b.mean, t)
	deviations := make([]float64, len(b.lines))
	for i, line := range b.lines {
		deviations[i] = b.recording(line, t) - x
	}
	w := halfWidth(deviations, max(0, half.Seconds()))
	if math.Abs(past) > w {
		return 0, 0, false, f.why(l)
	}
	part := f.parts[f.Segments[s].Part]
	x = min(max(x, part.Start.Seconds()), part.End.Seconds())
	v = min(max(timecode.VideoSeconds(x), part.Start), part.End)
	return v, seconds(w), true, words.Sentence{}
}

// segmentOf is the tied segment that l falls into or is nearest to, and by how
// many seconds of recording it lies past its end (or, negative, before its
// start); −1 where none is tied.
func (f *Fit) segmentOf(l timecode.Log) (segment int, past float64) {
	segment = -1
	t := f.secondsOf(l)
	for i, s := range f.Segments {
		if !s.Tied {
			continue
		}
		x := f.beliefs[i].recording(f.beliefs[i].mean, t)
		off := max(0, x-s.To.Seconds()) + min(0, x-s.From.Seconds())
		if segment < 0 || math.Abs(off) < math.Abs(past) {
			segment, past = i, off
		}
	}
	return segment, past
}

// Log is what the log's clock showed at a moment of the recording; ok false where
// nothing ties that moment.
func (f *Fit) Log(v timecode.Video) (l timecode.Log, uncertainty time.Duration, ok bool) {
	s := f.segmentAt(v)
	if s < 0 || !f.Segments[s].Tied {
		return 0, 0, false
	}
	b := f.beliefs[s]
	dx := v.Seconds() - b.middle
	deviations := make([]float64, len(b.lines))
	for i, line := range b.lines {
		deviations[i] = line.at(dx) - b.mean.at(dx)
	}
	return f.logAt(b, v), seconds(halfWidth(deviations, 0)), true
}

// segmentAt is the segment that shows v; −1 outside the recording. Where two meet
// it is the later one, and at a pause's end the tied one.
func (f *Fit) segmentAt(v timecode.Video) int {
	for i := len(f.Segments) - 1; i >= 0; i-- {
		if s := f.Segments[i]; s.From <= v && v <= s.To {
			if i > 0 && !s.Tied && f.Segments[i-1].Tied && f.Segments[i-1].Part == s.Part && v == s.From {
				return i - 1
			}
			return i
		}
	}
	return -1
}

// SegmentAt returns the segment that holds v; false outside the recording.
func (f *Fit) SegmentAt(v timecode.Video) (Segment, bool) {
	i := f.segmentAt(v)
	if i < 0 {
		return Segment{}, false
	}
	return f.Segments[i], true
}

// Elapsed is the civil time that passed from the recording's first frame to v:
// video time and what pauses and gaps between parts add. Where the recording runs
// Uneven the log's clock is the better one and its rate is taken. ok false where v
// or the first frame lies in an untied stretch, unless it is the same one.
func (f *Fit) Elapsed(v timecode.Video) (d time.Duration, ok bool) {
	at := f.segmentAt(v)
	if at < 0 {
		return 0, false
	}
	last := 0 // the segment whose clock time has been counted up to
	d = v.Sub(f.parts[0].Start)
	for i := 1; i <= at; i++ {
		if !f.Segments[i].Tied {
			continue
		}
		if !f.Segments[last].Tied {
			return 0, false
		}
		d += max(0, f.gained(last, i))
		last = i
	}
	if last != at {
		return 0, false
	}
	if f.Uneven {
		d += seconds(f.beliefs[at].mean.rate * v.Sub(f.parts[0].Start).Seconds())
	}
	return d, true
}

// gained is the log time that passed between two tied segments while nothing was
// recorded.
func (f *Fit) gained(i, j int) time.Duration {
	x := (f.Segments[i].To.Seconds() + f.Segments[j].From.Seconds()) / 2
	before, after := f.beliefs[i], f.beliefs[j]
	return seconds(after.mean.at(x-after.middle) - before.mean.at(x-before.middle))
}

// logAt is what the log's clock showed at v by the mean line.
func (f *Fit) logAt(b belief, v timecode.Video) timecode.Log {
	ahead := seconds(b.mean.at(v.Seconds() - b.middle))
	return f.zero + timecode.Log(v) + timecode.Log(ahead)
}

// secondsOf is a log moment counted from the fit's zero, without overflow where
// that lies centuries away.
func (f *Fit) secondsOf(l timecode.Log) float64 {
	if d := float64(l) - float64(f.zero); math.Abs(d) > 1<<60 {
		return d / 1e9
	}
	return (l - f.zero).Seconds()
}
