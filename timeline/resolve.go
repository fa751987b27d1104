package timeline

import (
	"context"
	"time"

	"pushcue/timeline/distance"
	"pushcue/timeline/timecode"
)

// Resolve places the log on the recording. The error is a fault.List when the
// job sheet asks for something that can't be (the program ends with 4), or
// ctx's own error; rows that find no place are no error but Unplaced.
func Resolve(ctx context.Context, in Input) (*Timeline, error) {
	return &Timeline{Sheet: in.Sheet, Log: in.Log, Recording: in.Recording, ShowTo: in.Recording.End}, ctx.Err()
}

// TrueTime is the civil time at v in the job's zone; false while the log clock is unsure there.
func (t *Timeline) TrueTime(v timecode.Video) (time.Time, bool) { return time.Time{}, false }

// DistanceAt is where the camera was at v, and how well that is known.
func (t *Timeline) DistanceAt(v timecode.Video) distance.Point { return t.Track.At(v) }

// FrameAt is the frame that is on the screen at v: the last one whose time is
// at or before v. It is shown from at until until.
func (t *Timeline) FrameAt(v timecode.Video) (index int, at, until timecode.Video) { return 0, 0, 0 }

// Explain tells in plain sentences how a data row came to its place or why it
// has none; false when the log has no such row.
func (t *Timeline) Explain(row int) ([]string, bool) { return nil, false }

// Document is the timeline as timeline.json holds it, but for what was made.
func (t *Timeline) Document() *Document { return &Document{Version: DocumentVersion} }
