package overlay

import (
	"slices"
	"sort"
	"time"

	"pushcue/timeline"
	"pushcue/timeline/timecode"
)

// An Excerpt is the frames that show one observation. Frames are counted in the
// timeline's Recording.Frames.
type Excerpt struct {
	Observation int // its number
	First, Last int // frames, both shown
	// End marks the excerpt of the far end of a stretch too long to be shown whole.
	End bool

	From  timecode.Video // when it starts in findings.mp4: a key frame is forced there
	Count int            // frames
}

// A Range is a run of frames, first and last included.
type Range struct{ First, Last int }

// Findings is the plan of findings.mp4: every excerpt in video order, frames that
// several share running once.
type Findings struct {
	Excerpts []Excerpt
	Ranges   []Range          // ascending, at least a frame apart
	Keys     []timecode.Video // where key frames are forced, in findings.mp4, ascending
	Frames   int              // how many there are
	End      timecode.Video   // how long they run

	at   []timecode.Video // when each range starts in findings.mp4
	rec  timeline.Recording
	skip []timecode.Video // what to take off the recording's time in each range
}

// longestWhole is how long a stretch may be to be shown whole. Of a longer one its
// start and its end are shown.
const longestWhole = 30 * time.Second

// PlanFindings plans the excerpts of all observations shown: from lead before an
// observation to tail after it, within its part of the recording and what the
// customer gets. A timeline that shows none gives an empty plan.
func PlanFindings(t *timeline.Timeline) Findings {
	f := Findings{rec: t.Recording}
	for i := range t.Observations {
		if o := &t.Observations[i]; !o.Hidden && o.Frame >= 0 && o.Frame < len(t.Recording.Frames) {
			f.Excerpts = append(f.Excerpts, excerptsOf(t, o)...)
		}
	}
	f.merge()
	for i := range f.Excerpts {
		e := &f.Excerpts[i]
		e.From = f.timeOf(e.First)
		e.Count = e.Last - e.First + 1
	}
	f.force()
	return f
}

// excerptsOf are one observation's: one, or two for a long stretch.
func excerptsOf(t *timeline.Timeline, o *timeline.Observation) []Excerpt {
	bounds := boundsOf(t, o.Frame)
	if e := o.Entry; e != nil && e.ClipFrom != nil && e.ClipTo != nil {
		// What a person chose, as far as it can be shown; the observation stays in it.
		const lost = time.Microsecond // of a last digit, on the way through a file
		first, last := frameAt(t.Recording.Frames, e.ClipFrom.Add(lost)), frameAt(t.Recording.Frames, e.ClipTo.Add(lost))
		return []Excerpt{{
			Observation: o.Number,
			First:       max(min(first, o.Frame), bounds.First),
			Last:        min(max(last, o.Frame), bounds.Last),
		}}
	}
	lead, tail := t.Sheet.Clips.Lead, t.Sheet.Clips.Tail
	window := func(from, to timecode.Video, hold int) Excerpt {
		first, last := frameAt(t.Recording.Frames, from.Add(-lead)), frameAt(t.Recording.Frames, to.Add(tail))
		return Excerpt{
			Observation: o.Number,
			First:       min(max(first, bounds.First), hold),
			Last:        max(min(last, bounds.Last), hold),
		}
	}
	if o.VideoEnd == nil || *o.VideoEnd <= o.Video {
		return []Excerpt{window(o.Video, o.Video, o.Frame)}
	}
	if o.VideoEnd.Sub(o.Video) <= longestWhole {
		return []Excerpt{window(o.Video, *o.VideoEnd, o.Frame)}
	}
	start := window(o.Video, o.Video, o.Frame)
	frame := frameAt(t.Recording.Frames, *o.VideoEnd)
	bounds = boundsOf(t, frame)
	if shown := shownRange(t); frame < shown.First || frame > shown.Last {
		return []Excerpt{start}
	}
	end := window(*o.VideoEnd, *o.VideoEnd, frame)
	end.End = true
	return []Excerpt{start, end}
}

// boundsOf are the frames that an excerpt round frame may use: those of its part
// which the customer gets.
func boundsOf(t *timeline.Timeline, frame int) Range {
	b := shownRange(t)
	for i, p := range t.Recording.Parts {
		next := len(t.Recording.Frames)
		if i+1 < len(t.Recording.Parts) {
			next = t.Recording.Parts[i+1].First
		}
		if p.First <= frame && frame < next {
			b.First, b.Last = max(b.First, p.First), min(b.Last, next-1)
		}
	}
	return b
}

// shownRange are the frames whose time lies from ShowFrom up to, not including,
// ShowTo.
func shownRange(t *timeline.Timeline) Range {
	frames := t.Recording.Frames
	return Range{
		First: sort.Search(len(frames), func(i int) bool { return frames[i] >= t.ShowFrom }),
		Last:  sort.Search(len(frames), func(i int) bool { return frames[i] >= t.ShowTo }) - 1,
	}
}

// frameAt is the frame on the screen at v: the last whose time isn't after it,
// and the first before all.
func frameAt(frames []timecode.Video, v timecode.Video) int {
	return max(0, sort.Search(len(frames), func(i int) bool { return frames[i] > v })-1)
}

// merge makes the ranges of the excerpts and sets them on the time of findings.mp4.
func (f *Findings) merge() {
	byFirst := make([]Range, len(f.Excerpts))
	for i, e := range f.Excerpts {
		byFirst[i] = Range{e.First, e.Last}
	}
	sort.Slice(byFirst, func(i, j int) bool { return byFirst[i].First < byFirst[j].First })
	for _, r := range byFirst {
		if n := len(f.Ranges); n > 0 && r.First <= f.Ranges[n-1].Last+1 {
			f.Ranges[n-1].Last = max(f.Ranges[n-1].Last, r.Last)
			continue
		}
		f.Ranges = append(f.Ranges, r)
	}
	for _, r := range f.Ranges {
		from, until := f.rec.Frames[r.First], f.until(r.Last)
		f.at = append(f.at, f.End)
		f.skip = append(f.skip, from-f.End)
		f.End += until - from
		f.Frames += r.Last - r.First + 1
	}
}

// until is when a frame leaves the screen.
func (f *Findings) until(frame int) timecode.Video {
	if frame+1 < len(f.rec.Frames) {
		return f.rec.Frames[frame+1]
	}
	return f.rec.End
}

// timeOf is when a frame that is in a range is shown in findings.mp4.
func (f *Findings) timeOf(frame int) timecode.Video {
	i := sort.Search(len(f.Ranges), func(i int) bool { return f.Ranges[i].Last >= frame })
	return f.rec.Frames[frame] - f.skip[i]
}

// FrameBefore is when the frame ahead of the one at a time of findings.mp4 is shown;
// ok is false for the first.
func (f *Findings) FrameBefore(at timecode.Video) (before timecode.Video, ok bool) {
	i := sort.Search(len(f.at), func(i int) bool { return f.at[i] >= at }) - 1
	if i < 0 {
		return 0, false
	}
	frame := sort.Search(len(f.rec.Frames), func(k int) bool { return f.rec.Frames[k] >= at+f.skip[i] }) - 1
	return f.rec.Frames[min(frame, f.Ranges[i].Last)] - f.skip[i], true
}

// force lists the key frames: the first of each excerpt, so that it can be cut
// there without encoding it again, and the one after its last, so that nothing
// before the cut leans on what comes after.
func (f *Findings) force() {
	at := map[timecode.Video]bool{}
	for _, e := range f.Excerpts {
		at[e.From] = true
		i := sort.Search(len(f.Ranges), func(i int) bool { return f.Ranges[i].Last >= e.Last })
		switch {
		case e.Last < f.Ranges[i].Last:
			at[f.timeOf(e.Last+1)] = true
		case i+1 < len(f.Ranges):
			at[f.at[i+1]] = true
		}
	}
	for v := range at {
		f.Keys = append(f.Keys, v)
	}
	sort.Slice(f.Keys, func(i, j int) bool { return f.Keys[i] < f.Keys[j] })
}

// Stand asks for a place where findings.mp4 can stand still on one of the recording's
// frames: a key frame is forced right behind it. frames is how many go up to and with
// it, at is when it would leave the screen; ok is false when the film doesn't show it.
func (f *Findings) Stand(frame int) (frames int, at timecode.Video, ok bool) {
	for i, r := range f.Ranges {
		if frame > r.Last {
			frames += r.Last - r.First + 1
			continue
		}
		if frame < r.First {
			return 0, 0, false
		}
		frames += frame - r.First + 1
		at = f.until(frame) - f.skip[i]
		if key, there := slices.BinarySearch(f.Keys, at); !there && frames < f.Frames {
			f.Keys = slices.Insert(slices.Clone(f.Keys), key, at)
		}
		return frames, at, true
	}
	return 0, 0, false
}
