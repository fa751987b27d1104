package handover

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"pushcue/internal/soak"
	"pushcue/internal/testfootage"
	"pushcue/timeline/timecode"
)

// Every container at every usual rate and distance of key frames: hundreds of jobs. A
// shorter soak takes some of each kind's, other ones each time.
func TestEverythingMadeIsExactWhateverTheRecording(t *testing.T) {
	if !soak.On() {
		t.Skip("takes half an hour: set PUSHCUE_SOAK=1")
	}
	for _, kind := range allKinds() {
		all := everyPaceOf(kind)
		rand.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
		for _, s := range all[:soak.Count(1, len(all))] {
			t.Run(fmt.Sprintf("%s %s, %d over %d, GOP %d, B %d, varying %v", s.Container, s.Codec, s.Rate.Num, s.Rate.Den, s.GOP, s.BFrames, s.VFR), func(t *testing.T) {
				t.Parallel()
				exactKind{parts: []testfootage.Spec{s}}.check(t, "0s")
			})
		}
	}
}

// everyPaceOf is a kind of recording at every rate and distance of key frames.
func everyPaceOf(kind testfootage.Spec) (all []testfootage.Spec) {
	for _, rate := range ratesOf(kind) {
		for _, gop := range gopsOf(kind) {
			s := kind
			if s.Codec != "dv" { // which knows one size only
				s.Width, s.Height = 320, 240
			}
			s.Rate, s.GOP, s.Frames = rate, gop, framesFor(rate)
			if s.Codec == "mpeg4-packed" {
				s.Frames = s.Frames/3*3 + 1
			}
			all = append(all, s)
		}
	}
	return all
}

// framesFor last six seconds, past the last excerpt.
func framesFor(r timecode.Rate) int { return 6 * r.Num / r.Den }

func allKinds() []testfootage.Spec {
	return []testfootage.Spec{
		{Container: "mp4", BFrames: 3, Audio: true},
		{Container: "mp4", OpenGOP: true, BFrames: 2},
		{Container: "mp4", PreRoll: 7, BFrames: 2, Audio: true},
		{Container: "mp4", Codec: "mpeg4", BFrames: 2},
		{Container: "mp4", VFR: true, BFrames: 2, Audio: true},
		{Container: "mov", Rotation: 90, Interlaced: true, Audio: true},
		{Container: "3gp", Codec: "mpeg4"},
		{Container: "avi", Codec: "mjpeg", Audio: true},
		{Container: "avi", Codec: "mpeg4", BFrames: 2, Audio: true},
		{Container: "avi", Codec: "mpeg4-packed", BFrames: 2},
		{Container: "avi", Codec: "mpeg2"},
		{Container: "mkv", BFrames: 2, Audio: true},
		{Container: "mkv", VFR: true},
		{Container: "webm", Codec: "vp8", Audio: true},
		{Container: "ts", BFrames: 2, Audio: true},
		{Container: "ts", Codec: "mpeg2", BFrames: 2, Interlaced: true, SAR: timecode.Rate{Num: 16, Den: 15}},
		{Container: "ts", Codec: "h264-fields"},
		{Container: "m2ts", BFrames: 2, Audio: true},
		{Container: "mpg", Codec: "mpeg2", BFrames: 2, Audio: true},
		{Container: "flv", Codec: "flv1", Audio: true},
		{Container: "wmv", Codec: "wmv2", Audio: true},
		{Container: "mxf", Codec: "mpeg2", BFrames: 2},
		{Container: "dv", Codec: "dv"},
	}
}

// ratesOf are the rates that a kind of recording can have.
func ratesOf(s testfootage.Spec) []timecode.Rate {
	switch {
	case s.VFR || s.Codec == "dv":
		return []timecode.Rate{pal}
	case s.Codec == "mpeg2":
		return []timecode.Rate{pal, ntsc, {Num: 50, Den: 1}}
	}
	return []timecode.Rate{pal, ntsc, {Num: 15, Den: 1}, {Num: 30, Den: 1}, {Num: 60000, Den: 1001}}
}

// gopsOf are distances of key frames; some kinds have nothing but key frames.
func gopsOf(s testfootage.Spec) []int {
	switch s.Codec {
	case "mjpeg", "dv":
		return []int{1}
	case "h264-fields":
		return []int{12, 60}
	}
	return []int{12, 60, 250}
}
