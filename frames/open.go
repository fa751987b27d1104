package frames

import (
	"context"
	"errors"
	"slices"
	"sort"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/reach"
	"pushcue/timeline"
	"pushcue/timeline/fault"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// Options of Open.
type Options struct {
	// Decode builds the table from decoding every part to its end, as is otherwise
	// done only where the packets are doubtful. Slow and always right: the way out
	// when a run gives another number of frames than Times holds.
	Decode bool
	// Quick takes a file's own index at its word where the first decoded frames bear it
	// out, and doesn't read the file through. Damage further on isn't known then, and
	// Part.Unread says so.
	Quick bool
}

// Open reads the shape of a recording from its parts in order. Parts that can't be used are a fault.List, all
// of them together; one that can be used in part carries a Damage sentence.
func Open(ctx context.Context, tools *ffmpeg.Tools, sources []*reach.Source, o Options) (*Recording, error) {
	if len(sources) == 0 {
		return nil, fault.Of(fault.Fault{Text: words.Tell("there is no recording"), Hint: words.Tell("put the recording's files into the job folder, or name one with --video")})
	}
	r := &Recording{}
	var faults fault.List
	for _, source := range sources {
		part, times, err := openPart(ctx, tools, source, o)
		if list := (fault.List{}); errors.As(err, &list) {
			faults = append(faults, list...)
			continue
		}
		if err != nil {
			return nil, err
		}
		r.add(part, times)
	}
	if len(faults) > 0 {
		return nil, faults
	}
	r.Width, r.Height = r.Parts[0].shown()
	return r, nil
}

// add joins a part to the end; times count from its first frame.
func (r *Recording) add(p Part, times []timecode.Video) {
	p.Start, p.First = r.End, len(r.Times)
	r.Times = slices.Grow(r.Times, len(times))
	for _, t := range times {
		r.Times = append(r.Times, p.Start+t)
	}
	r.End = p.Start.Add(p.Length)
	r.Parts = append(r.Parts, p)
}

// Sources are the files that the recording is read from.
func (r *Recording) Sources() []*reach.Source {
	all := make([]*reach.Source, len(r.Parts))
	for i, p := range r.Parts {
		all[i] = p.Media.Source
	}
	return all
}

// Timeline is the shape that placing needs.
func (r *Recording) Timeline() timeline.Recording {
	parts := make([]timeline.Part, len(r.Parts))
	for i, p := range r.Parts {
		parts[i] = timeline.Part{
			File: p.Name, Start: p.Start, Duration: p.Length, First: p.First,
			Rate: p.Rate, Began: p.Media.Created, Damage: p.Damage,
		}
	}
	return timeline.Recording{Parts: parts, Frames: r.Times, End: r.End}
}

// Frame is frame number i, from 0 to len(Times)-1.
func (r *Recording) Frame(i int) Frame {
	f := Frame{Index: i, At: r.Times[i], Until: r.End}
	if i+1 < len(r.Times) {
		f.Until = r.Times[i+1]
	}
	return f
}

// FrameAt is the frame shown at v: the last one with a time of at most v, the
// first one before the start.
func (r *Recording) FrameAt(v timecode.Video) Frame {
	after := sort.Search(len(r.Times), func(i int) bool { return r.Times[i] > v })
	return r.Frame(max(0, after-1))
}

// partOf is the part that frame i lies in.
func (r *Recording) partOf(i int) *Part {
	after := sort.Search(len(r.Parts), func(k int) bool { return r.Parts[k].First > i })
	return &r.Parts[after-1]
}
