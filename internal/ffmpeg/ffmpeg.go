// Package ffmpeg is the only place that runs ffmpeg and ffprobe: it finds them,
// asks what a file holds, runs one graph with progress, and stops it politely.
//
//	tools, err := ffmpeg.Find(ctx, ffmpeg.Where{Cache: ffmpeg.UserCache()})
//	source := reach.Named("/jobs/2291/part1.mp4", "part1.mp4")
//	media, err := tools.Probe(ctx, source)
//	out := ffmpeg.Output([]*ff.Stream{ffmpeg.Input(source.Path).Video()}, "/jobs/2291/out.mp4", ff.KwArgs{"c:v": tools.Encoder})
//	err = tools.Do(ctx, ffmpeg.Run{Outputs: []*ff.Stream{out}, Sources: []*reach.Source{source}, Progress: show})
//
// Text from a log or a file name never reaches a filter argument, and only local
// files of expected kinds are read. What isn't promised: that a run that ended
// well read its whole input. ffmpeg ends well on a recording cut in half, so
// callers compare what came out with what was to come.
package ffmpeg

import (
	"time"

	"pushcue/internal/reach"
	"pushcue/timeline/timecode"
)

// Tools is an ffmpeg that was found and is good enough.
type Tools struct {
	FFmpeg    string // absolute paths
	FFprobe   string
	Version   string
	Encoder   string        // the H.264 encoder to use
	Patience  time.Duration // without any sign of life for so long a run has failed; 0: two minutes
	MapsTones bool          // it can bring a recording of high dynamic range into an ordinary screen's

	optionFiles bool   // any option can be read from a file
	kept        string // file of the cache that says so; "" when nothing is kept
}

// Media is what a recording file holds, as far as making a handover needs it.
type Media struct {
	Source   *reach.Source
	Format   string        // ffmpeg's name of the container: "mov,mp4,m4a,3gp,3g2,mj2", "avi" …
	Size     int64         // bytes
	Start    time.Duration // the container's start time: the minimum over its streams
	Duration time.Duration // as claimed
	Video    VideoStream
	Others   []string     // other pictures in the file, which aren't taken: "720×576 h264"
	Audio    *AudioStream // nil without sound
	Voice    []byte       // its sound in a form of which all can be decoded; nil where the file will do
	Created  time.Time    // creation time in the file; zero when absent
	Tags     map[string]string
}

// VideoStream is the picture.
type VideoStream struct {
	Index         int
	Codec         string
	Width, Height int           // as stored
	SAR           timecode.Rate // sample aspect ratio; 1/1 when unknown
	Rotation      int           // degrees clockwise to turn it upright: 0, 90, 180, 270
	TimeBase      timecode.Rate
	Nominal, Mean timecode.Rate // r_frame_rate, avg_frame_rate
	FieldOrder    string        // "progressive", "tt", "bb", "tb", "bt", ""
	Claimed       int64         // frames claimed, 0 when unknown
	Start         time.Duration // of its first frame, on the container's clock, as claimed
	PixelFormat   string
	Color         Color
}

// Color is how the picture's values are to be understood, in ffmpeg's names.
type Color struct{ Range, Space, Primaries, Transfer string }

// AudioStream is the sound.
type AudioStream struct {
	Index      int
	Codec      string
	SampleRate int
	Channels   int
	Start      time.Duration // of its first sample, on the container's clock
	TimeBase   timecode.Rate
	Duration   time.Duration // as claimed; 0 when unknown
}
