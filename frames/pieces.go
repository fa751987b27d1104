package frames

import (
	"context"
	"strconv"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/internal/ffmpeg"
	"pushcue/timeline/timecode"
)

// Pieces is a few short pieces of the recording one after another, for a look at what its
// pictures are like. Each has count frames and begins at the key frame before one of the
// given frames. The same call gives the same pictures; which frame of the recording a
// picture is can't be told. Pictures are at the recording's mean rate.
func (r *Recording) Pieces(from []int, count int) *ff.Stream {
	pieces := make([]*ff.Stream, len(from))
	for i, frame := range from {
		p := r.partOf(frame)
		options := ff.KwArgs{}
		if at := r.Times[frame] - p.Start; at > 0 {
			on := since(p.ticks(at), p.timing.base)
			options = ff.KwArgs{"noaccurate_seek": "", "ss": ffmpeg.Seconds(max(0, on.Sub(0)-p.Media.Start))}
		}
		v := r.picture(p, p.input(i, options).Get(strconv.Itoa(p.Media.Video.Index)))
		v = v.Filter("trim", nil, ff.KwArgs{"end_frame": strconv.Itoa(count)})
		pieces[i] = v.Filter("setpts", ff.Args{"N*40000+0*" + strconv.Itoa(i)}) // told apart: the library merges equal nodes
	}
	all := pieces[0]
	if len(pieces) > 1 {
		all = ff.Filter(pieces, "concat", nil, ff.KwArgs{"n": strconv.Itoa(len(pieces))})
	}
	rate := r.Parts[0].Rate
	return all.Filter("setpts", ff.Args{"N*" + strconv.FormatInt(1_000_000*int64(rate.Den)/int64(rate.Num), 10)})
}

// Weights is how many bytes the recording's pictures have in each stretch of the given
// length, from its start on.
func (r *Recording) Weights(ctx context.Context, tools *ffmpeg.Tools, step timecode.Video) ([]int64, error) {
	all := make([]int64, int(r.End/step)+1)
	for i := range r.Parts {
		p := &r.Parts[i]
		n := 0
		_, err := tools.Packets(ctx, p.Media, p.Media.Video.Index, func(packet ffmpeg.Packet) error {
			when := p.Start
			switch {
			case p.timing.byIndex:
				when += p.timing.ofIndex(n)
			case packet.HasPTS:
				when += since(packet.PTS-p.Origin, p.timing.base)
			}
			n++
			all[min(max(int(when/step), 0), len(all)-1)] += packet.Size
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	return all, nil
}
