package frames

import (
	"fmt"
	"strconv"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/internal/ffmpeg"
)

// Joined is all parts as one stream of pictures and one of sound.
//
// Picture number n of Video is frame n of Recording.Times and carries its time to
// the microsecond. It is upright, Width x Height, square pixels, yuv420p, limited
// range, in the first part's colours and tagged so, one picture out for each in. An
// encoder keeps the times only with OutputArgs.
type Joined struct {
	Video *ff.Stream
	Sound *ff.Stream // exactly as long as the pictures, 48 kHz; nil without sound
}

// OutputArgs are the output options that keep every frame once and its time:
// no frame rate is forced, and times are counted in 90,000ths of a second.
// A muxer that has a time scale of its own (mov, mp4) takes "video_track_timescale": "90000".
func OutputArgs() ff.KwArgs {
	return ff.KwArgs{"fps_mode": "passthrough", "enc_time_base": "1:90000"}
}

// Joined reads the whole recording. Each call makes inputs of its own: use it
// once a run, and split what it gives.
func (r *Recording) Joined(sound bool) Joined {
	pictures := make([]*ff.Stream, len(r.Parts))
	inputs := make([]*ff.Stream, len(r.Parts))
	for k := range r.Parts {
		p := &r.Parts[k]
		inputs[k] = p.input(k, nil)
		pictures[k] = r.picture(p, inputs[k].Get(strconv.Itoa(p.Media.Video.Index)))
	}
	j := Joined{Video: pictures[0]}
	if len(pictures) > 1 {
		// Not concat, which guesses how long a part is: every picture carries its time
		// in the whole already, and only the order is wanted.
		j.Video = ff.Filter(pictures, "interleave", nil, ff.KwArgs{"n": len(pictures)})
	}
	if sound {
		j.Sound = r.sound(inputs)
	}
	return j
}

// input reads a part with the file's own times, which setpts then counts from. The
// graph stays as it is when a damaged stream claims another size in its middle.
func (p *Part) input(k int, more ff.KwArgs) *ff.Stream {
	options := ff.KwArgs{"copyts": "", "reinit_filter": "0"}
	if k > 0 {
		// The library takes two inputs for one when only the order of their options'
		// values differs; the same file may also be named twice.
		options["thread_queue_size"] = strconv.Itoa(8 + k)
	}
	return ffmpeg.Input(p.Path, options, more)
}

// picture brings a part's pictures into the shape and the time of the whole.
func (r *Recording) picture(p *Part, v *ff.Stream) *ff.Stream {
	if !p.timing.byIndex {
		v = v.Filter("setpts", ff.Args{p.expression()})
	}
	v = p.upright(v)
	v = p.ordinary(v)
	v = r.sized(p, v)
	v = v.Filter("settb", ff.Args{"1/1000000"})
	start := scale(int64(p.Start), 1, 1000)
	if p.timing.byIndex {
		return v.Filter("setpts", ff.Args{fmt.Sprintf("floor(N*%d/%d+0.5)+%d", int64(p.timing.rate.Den)*1e6, p.timing.rate.Num, start)})
	}
	return v.Filter("setpts", ff.Args{fmt.Sprintf("PTS+%d", start)})
}

// upright takes fields apart, one picture out for each in. ffmpeg has turned the
// picture by then, and its lines with it, so that it is turned back for that. Told
// not to turn it, ffmpeg would mark what it writes as still to be turned.
func (p *Part) upright(v *ff.Stream) *ff.Stream {
	if !p.Interlaced {
		return v
	}
	media := p.Media.Video
	v = turned(v, 360-media.Rotation)
	// The size is pinned, since the filter trusts it.
	v = v.Filter("scale", ff.Args{strconv.Itoa(media.Width), strconv.Itoa(media.Height)})
	which := "interlaced" // by each frame's own flag
	if p.fields != "" {
		which = "all"
		v = v.Filter("setfield", ff.Args{p.fields})
	}
	v = v.Filter("bwdif", nil, ff.KwArgs{"mode": "send_frame", "parity": "auto", "deint": which})
	return turned(v, media.Rotation)
}

// turned turns pictures clockwise by whole quarters.
func turned(v *ff.Stream, degrees int) *ff.Stream {
	switch degrees % 360 {
	case 90:
		return v.Filter("transpose", ff.Args{"clock"})
	case 180:
		return v.Filter("transpose", ff.Args{"clock"}).Filter("transpose", ff.Args{"clock", "passthrough=none"})
	case 270:
		return v.Filter("transpose", ff.Args{"cclock"})
	}
	return v
}

// sized gives the picture the whole recording's size: the first part's. Other sizes
// are made to fit, with black beside them.
func (r *Recording) sized(p *Part, v *ff.Stream) *ff.Stream {
	w, h := p.shown()
	if w != r.Width || h != r.Height {
		w, h = fit(w, h, r.Width, r.Height)
	}
	size := ff.Args{strconv.Itoa(w), strconv.Itoa(h)}
	sw, sh := p.Media.Video.Width, p.Media.Video.Height
	if p.Media.Video.Rotation%180 != 0 {
		sw, sh = sh, sw
	}
	if p.square() && w-sw <= 1 && h-sh <= 1 && w >= sw && h >= sh {
		size = ff.Args{strconv.Itoa(sw), strconv.Itoa(sh)} // an odd edge is padded, not stretched
	}
	v = v.Filter("scale", size, r.converted(p))
	v = v.Filter("format", ff.Args{"yuv420p"})
	if size[0] != strconv.Itoa(r.Width) || size[1] != strconv.Itoa(r.Height) {
		v = v.Filter("pad", ff.Args{strconv.Itoa(r.Width), strconv.Itoa(r.Height), strconv.Itoa((r.Width - w) / 4 * 2), strconv.Itoa((r.Height - h) / 4 * 2)})
	}
	return r.tagged(v.Filter("setsar", ff.Args{"1"}))
}
