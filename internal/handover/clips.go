package handover

import (
	"context"
	"fmt"
	"sync"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/frames"
	"pushcue/internal/crew"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/reach"
	"pushcue/timeline/timecode"
)

// A cut is a run of frames copied out of a video as it is, without encoding anew.
// A key frame stands at its start and right behind its end.
type cut struct {
	tmp   string
	from  timecode.Video // in the video it is taken from
	long  timecode.Video // to the end of its last frame
	count int            // frames; 0: to the end
	last  frames.Frame   // the last one, in the recording; none where that isn't known
}

// copyOut makes the cuts, two at a time: each is a process that mostly waits.
func copyOut(ctx context.Context, tools *ffmpeg.Tools, video string, cuts []cut, done func(int)) error {
	var count sync.Mutex
	finished := 0
	return crew.Each(ctx, len(cuts), 2, func(ctx context.Context, i int) error {
		if err := cuts[i].do(ctx, tools, video); err != nil {
			return err
		}
		count.Lock()
		defer count.Unlock()
		finished++
		done(finished)
		return nil
	})
}

func (c cut) do(ctx context.Context, tools *ffmpeg.Tools, video string) error {
	in := ffmpeg.Input(video, ff.KwArgs{"ss": seconds(c.from)})
	// Packets ahead of the start are left out, not hidden: some players show what
	// is hidden.
	how := ff.KwArgs{
		"c": "copy", "copypriorss": "0", "f": "mp4", "movflags": "+faststart", "video_track_timescale": "90000",
		"map_metadata": "-1", "map_chapters": "-1",
	}
	if c.count > 0 {
		// The frames are counted, since a time would be held against the order of
		// decoding; what is behind them is dropped rather than ended by the option
		// frames, which would end the sound as well, some packets early.
		how["bsf:v"] = fmt.Sprintf("noise=drop=floor(n/%d)", c.count)
		if c.last != (frames.Frame{}) {
			how["bsf:v"] = fmt.Sprintf("%s,%s", how["bsf:v"], lasting(c.last, false))
		}
		how["t"] = seconds(c.long)
	}
	out := ffmpeg.Output([]*ff.Stream{in.Get("v:0"), in.Get("a?")}, c.tmp, how)
	if _, err := tools.Do(ctx, ffmpeg.Run{Outputs: []*ff.Stream{out}, Sources: []*reach.Source{reach.Ours(video)}}); err != nil {
		return err
	}
	if c.count == 0 {
		return nil
	}
	return holds(ctx, tools, c.tmp, int64(c.count))
}
