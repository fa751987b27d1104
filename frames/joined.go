package frames

import (
	ff "github.com/u2takey/ffmpeg-go"
)

// Joined is all parts as one stream of pictures and one of sound.
//
// Picture number n of Video is frame n of Recording.Times and carries its time to
// the microsecond. It is upright, Width x Height, square pixels, yuv420p, one
// picture out for each in. An encoder keeps that only with OutputArgs.
type Joined struct {
	Video *ff.Stream
	Sound *ff.Stream // exactly as long as the pictures, 48 kHz; nil without sound
}

// Joined reads the whole recording. Each call makes inputs of its own: use it
// once a run, and split what it gives.
func (r *Recording) Joined(sound bool) Joined { return Joined{} }

// OutputArgs are the output options that keep every frame once and its time:
// no frame rate is forced, and times are counted in 90,000ths of a second.
// A muxer that has a time scale of its own (mov, mp4) takes "video_track_timescale": "90000".
func OutputArgs() ff.KwArgs {
	return ff.KwArgs{"fps_mode": "passthrough", "enc_time_base": "1:90000"}
}
