// Package frames takes pictures out of the recording: it knows the presentation
// time of every frame shown, through all parts, and fetches the exact frame of a
// moment or the best one near it.
package frames

import (
	"pushcue/internal/ffmpeg"
	"pushcue/timeline/timecode"
)

// A Recording is the opened recording: its parts joined in time.
type Recording struct {
	Parts         []Part
	Width, Height int // of the picture shown: upright, square pixels
	Times         []timecode.Video
	End           timecode.Video
}

// A Part is one file.
type Part struct {
	Path   string // absolute
	Name   string // as the job names it
	Media  *ffmpeg.Media
	Start  timecode.Video
	First  int    // index of its first frame in Recording.Times
	Count  int    // frames shown
	Damage string // one sentence when it could be read only in part; "" when whole

	// Origin is the presentation time of its first frame shown on the file's own
	// clock, in ticks of Media.Video.TimeBase.
	Origin     int64
	Interlaced bool
}

// A Frame is one frame of the joined recording.
type Frame struct {
	Index int
	At    timecode.Video
	Until timecode.Video // when the next one is shown
}
