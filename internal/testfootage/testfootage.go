// Package testfootage makes the recordings that tests prove exactness with:
// every frame carries its own number, so that a still, a clip or a captioned
// video can be asked which frames it really holds.
//
//	path := testfootage.Numbered(t, testfootage.Spec{Frames: 100, GOP: 60, BFrames: 2})
//	...
//	n, ok := testfootage.ReadNumber(img)
//
// Recordings are kept in the user's cache folder (or the one that
// PUSHCUE_TEST_FOOTAGE names) under a name made of the Spec, so that they are made
// once for all tests and runs. They must not be written to. What nobody has asked
// for in a month is removed. It needs an ffmpeg with libx264 on PATH and fails the
// test where there is none.
package testfootage

import (
	"image"
	"time"

	"pushcue/internal/framenumber"
	"pushcue/timeline/timecode"
)

// A Spec says what to make. The zero value of each field is the plain case; the
// zero Spec is 50 frames of 320x240 at 25 a second in H.264 in MP4.
type Spec struct {
	Frames        int           // default 50
	First         int           // number of the first frame shown
	Rate          timecode.Rate // frames a second; default 25
	Width, Height int           // of the picture as stored; default 320x240

	// Container is the file's ending: mp4 (default), mov, 3gp, avi, mkv, webm,
	// ts, m2ts, mpg, flv, wmv, mxf or dv.
	Container string
	// Codec is h264, mpeg4, mjpeg, mpeg2, mpeg1, vp8, wmv2, flv1 or dv; or
	// h264-fields (MP4, TS: each field a picture of its own), or mpeg4-packed
	// (AVI: B-frames sharing a packet); by default the usual one for the container.
	Codec   string
	GOP     int // distance of key frames; default 12
	BFrames int
	OpenGOP bool // key frames that earlier pictures lean over

	// StartOffset is where the container's clock stands at the first frame.
	StartOffset time.Duration
	// PreRoll frames, numbered from Hidden, stand in the file ahead of the first
	// frame shown and are hidden by an edit list. MP4 and MOV only.
	PreRoll int
	// VFR gives the frames the uneven times of Times.
	VFR bool

	Interlaced bool          // coded as interlaced, top field first
	SAR        timecode.Rate // shape of a pixel; default 1/1
	Rotation   int           // degrees clockwise that a player turns it by: 90, 180, 270

	Audio      bool          // a tone with a beep each second
	AudioDelay time.Duration // the sound begins this much after the picture

	// Crf is the H.264 quality, 1 to 51, of an encode that takes care to be small.
	// By default it is 23, and the encode is as quick as can be.
	Crf int

	// Frames of these numbers (counted from First) are out of focus, too bright
	// or too dark; between the two of Stand, both included, nothing moves.
	Blurred, Bright, Dark []int
	Stand                 [][2]int
}

// Hidden is the number of the first frame of a pre-roll.
const Hidden = 0xF00000

// ReadNumber reads the number of a frame back from its picture, whatever strips
// were added and however it was scaled; false when there is none.
func ReadNumber(img image.Image) (int, bool) { return framenumber.Read(img) }

// Times returns when each frame is shown, from the first frame shown.
func (s Spec) Times() []time.Duration {
	s = s.whole()
	times := make([]time.Duration, s.Frames)
	for n := range times {
		times[n] = time.Duration(int64(n) * int64(time.Second) * int64(s.Rate.Den) / int64(s.Rate.Num))
		if s.VFR {
			times[n] = time.Duration(unevenMillis(n)) * time.Millisecond
		}
	}
	return times
}

// unevenMillis is when frame n of a recording with a varying rate is shown:
// about 40 ms apart, every twelfth frame 200 ms later than that.
func unevenMillis(n int) int { return 40*n + 7*(n%3) + 160*(n/12) }

// whole returns s with its defaults filled in.
func (s Spec) whole() Spec {
	if s.Frames == 0 {
		s.Frames = 50
	}
	if s.Rate.Num == 0 {
		s.Rate = timecode.Rate{Num: 25, Den: 1}
	}
	if s.Width == 0 {
		s.Width, s.Height = 320, 240
	}
	if s.Container == "" {
		s.Container = "mp4"
	}
	if s.Codec == "" {
		s.Codec = usualCodec(s.Container)
	}
	if s.Codec == "dv" {
		s.Width, s.Height, s.Rate, s.Interlaced = 720, 576, timecode.Rate{Num: 25, Den: 1}, true
	}
	if s.GOP == 0 {
		s.GOP = 12
	}
	return s
}

func usualCodec(container string) string {
	switch container {
	case "avi":
		return "mjpeg"
	case "mpg", "mxf":
		return "mpeg2"
	case "webm":
		return "vp8"
	case "wmv":
		return "wmv2"
	case "dv":
		return "dv"
	default:
		return "h264"
	}
}
