package frames

import (
	"fmt"
	"image"
	"strconv"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/timeline/timecode"
)

// Sampled is every step-th picture of part k as it was decoded, but for its being
// turned upright: not taken apart into frames, pixels as stored. Picture n of it is frame
// Parts[k].First + n·step, whose time is Times' (see SampledAt).
func (r *Recording) Sampled(k, step int) *ff.Stream {
	p := &r.Parts[k]
	return p.stored(nil, step)
}

// SampledFrom is count pictures of Sampled(k, step) from picture n on, decoded from the
// key frame before them. false where the container doesn't say where decoding can begin.
// A key frame that can't be decoded from costs pictures: the caller counts them.
func (r *Recording) SampledFrom(k, step, n, count int) (*ff.Stream, bool) {
	p := &r.Parts[k]
	first := n * max(1, step)
	last := min(first+(count-1)*max(1, step), p.Count-1)
	key := p.keyBefore(p.First + first)
	if p.countsOnly() || len(p.timing.keys) == 0 || first > last {
		return nil, false
	}
	options := ff.KwArgs{}
	if key >= 0 {
		options = p.seek(r, key)
	}
	options["noautorotate"] = "" // "autorotate 0" is refused by ffmpeg 7.1
	v := p.input(0, options).Get(strconv.Itoa(p.Media.Video.Index))
	ticks := func(i int) int64 { return p.ticks(r.Times[p.First+i] - p.Start) }
	v = v.Filter("trim", nil, ff.KwArgs{"start_pts": ticks(first), "end_pts": ticks(last) + 1})
	v = v.Filter("select", ff.Args{fmt.Sprintf("not(mod(n,%d))", max(1, step))})
	return turned(v, p.Media.Video.Rotation), true
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
// look all over a recording for a small part of the cost of decoding it. The rest isn't
// even read where the container's index tells which are which.
func (r *Recording) Keys(k, step int) *ff.Stream {
	return r.Parts[k].stored(ff.KwArgs{"skip_frame": "nokey", "discard": "nokey"}, step)
}

// KeyCount is how many pictures Keys(k, 1) gives, as far as is known; 0 where it isn't.
func (r *Recording) KeyCount(k int) int { return len(r.Parts[k].timing.keys) }

func (p *Part) stored(more ff.KwArgs, step int) *ff.Stream {
	options := ff.KwArgs{"noautorotate": ""}
	for name, value := range more {
		options[name] = value
	}
	v := p.input(0, options).Get(strconv.Itoa(p.Media.Video.Index))
	v = v.Filter("select", ff.Args{fmt.Sprintf("not(mod(n,%d))", max(1, step))})
	return turned(v, p.Media.Video.Rotation)
}

// StoredSize is the size of the pictures that Sampled and Keys give.
func (p *Part) StoredSize() image.Point {
	v := p.Media.Video
	if v.Rotation%180 != 0 {
		return image.Pt(v.Height, v.Width)
	}
	return image.Pt(v.Width, v.Height)
}

// Shown is where an area of the pictures that Sampled and Keys give lies in the
// picture shown, which is Width x Height.
func (r *Recording) Shown(k int, area image.Rectangle) image.Rectangle {
	p := &r.Parts[k]
	w, h := p.shown()
	var by image.Point
	if w != r.Width || h != r.Height {
		w, h = fit(w, h, r.Width, r.Height)
		by = image.Pt((r.Width-w)/4*2, (r.Height-h)/4*2)
	}
	stored := p.StoredSize()
	low := func(v, to, from int) int { return v * to / from }
	high := func(v, to, from int) int { return (v*to + from - 1) / from }
	return image.Rect(low(area.Min.X, w, stored.X), low(area.Min.Y, h, stored.Y),
		high(area.Max.X, w, stored.X), high(area.Max.Y, h, stored.Y)).Add(by)
}
