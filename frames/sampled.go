package frames

import (
	"fmt"
	"strconv"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/timeline/timecode"
)

// Sampled is every step-th picture of part k as it was decoded: neither turned nor
// taken apart into frames, pixels as stored. Picture n of it is frame
// Parts[k].First + n·step, whose time is Times' (see SampledAt).
func (r *Recording) Sampled(k, step int) *ff.Stream {
	p := &r.Parts[k]
	return p.asStored(nil).Filter("select", ff.Args{fmt.Sprintf("not(mod(n,%d))", max(1, step))})
}

// SampledAt is when picture n of Sampled(k, step) is shown; false beyond the part's end.
func (r *Recording) SampledAt(k, step, n int) (timecode.Video, bool) {
	p := &r.Parts[k]
	i := n * max(1, step)
	if i >= p.Count {
		return 0, false
	}
	return r.Times[p.First+i], true
}

// Keys is every step-th picture of part k that is decoded without any other: to
// look all over a recording for a small part of the cost of decoding it.
func (r *Recording) Keys(k, step int) *ff.Stream {
	v := r.Parts[k].asStored(ff.KwArgs{"skip_frame": "nokey"})
	return v.Filter("select", ff.Args{fmt.Sprintf("not(mod(n,%d))", max(1, step))})
}

// KeyCount is how many pictures Keys(k, 1) gives, as far as is known; 0 where it isn't.
func (r *Recording) KeyCount(k int) int { return len(r.Parts[k].timing.keys) }

func (p *Part) asStored(more ff.KwArgs) *ff.Stream {
	options := ff.KwArgs{"autorotate": "0"}
	for name, value := range more {
		options[name] = value
	}
	return p.input(0, options).Get(strconv.Itoa(p.Media.Video.Index))
}
