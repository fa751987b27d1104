// Package frames takes pictures out of the recording: it knows the presentation
// time of every frame shown, through all parts, and fetches the exact frame of a
// moment or the best one near it.
//
//	rec, err := frames.Open(ctx, tools, []*reach.Source{reach.Named(path, "push.mp4")}, frames.Options{})
//	f := rec.FrameAt(timecode.VideoSeconds(314.2))
//	err = frames.Fetch(ctx, tools, rec, []frames.Want{{ID: 1, At: f.At, Window: time.Second}}, dir, save)
//
// The table of times comes from the index of an MP4 or MOV, where the first decoded
// frames bear it out, else from the file's packets, and from the decoder where the
// packets are doubtful. What isn't promised: that no frame is lost to damage in the
// middle of an otherwise sound file, which only decoding all of it would show. A run
// that gives another number of frames than Times holds tells so; Options.Decode is
// the way out.
package frames

import (
	"time"

	"pushcue/internal/ffmpeg"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// A Recording is the opened recording: its parts joined in time.
type Recording struct {
	Parts         []Part
	Width, Height int // of the picture shown: upright, square pixels, even
	Times         []timecode.Video
	End           timecode.Video
}

// A Part is one file.
type Part struct {
	Path   string // absolute
	Name   string // as the job names it
	Media  *ffmpeg.Media
	Start  timecode.Video
	First  int            // index of its first frame in Recording.Times
	Count  int            // frames shown
	Length time.Duration  // to the end of its last frame
	Rate   timecode.Rate  // frames a second: what it was recorded with, as far as can be told
	Damage words.Sentence // a clause when it could be read only in part; empty when whole
	// Sound is what became of its sound where that couldn't be decoded whole; else nil.
	Sound  *Heard
	Unread bool // it wasn't read through, so that Damage tells of its beginning only

	// Origin is the presentation time of its first frame shown on the file's own
	// clock, in ticks of Media.Video.TimeBase.
	Origin     int64
	Interlaced bool

	timing timing
	health health
	fields string // "tff" or "bff" where the file doesn't say that it is interlaced
	mapped bool   // its high dynamic range is brought into an ordinary screen's
}

// Heard is how much of a sound was decoded, and how much the file says that there is.
type Heard struct{ Decoded, Claimed time.Duration }

// A Frame is one frame of the joined recording.
type Frame struct {
	Index int
	At    timecode.Video
	Until timecode.Video // when the next one is shown
}
