package handover

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/frames"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/soak"
	"pushcue/internal/testfootage"
	"pushcue/overlay"
	"pushcue/timeline"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
)

// noCounter is a sheet for recordings in which none is to be looked for.
const noCounter = "[counter]\nlook = \"off\"\n"

// recorded is a recording of so many frames, 25 a second.
func recorded(count int, audio *ffmpeg.AudioStream) *frames.Recording {
	r := &frames.Recording{Parts: []frames.Part{{Media: &ffmpeg.Media{Audio: audio}, Rate: pal}}}
	for i := range count {
		r.Times = append(r.Times, timecode.Video(i)*40_000_000)
	}
	r.End = timecode.Video(count) * 40_000_000
	return r
}

func TestEveryEncoderIsAskedInItsOwnWords(t *testing.T) {
	for encoder, want := range map[string]struct{ profile, quality, bits string }{
		"libx264":           {"high", "21", ""},
		"h264_nvenc":        {"high", "", "1036000"},
		"h264_qsv":          {"high", "", "1036000"},
		"h264_videotoolbox": {"high", "", "1036000"},
		"libopenh264":       {"high", "", "1036000"},
		"h264_mf":           {"100", "", "1036000"}, // has no names of profiles: libavcodec/mfenc.c
	} {
		b := &burn{rec: recorded(250, nil), encoder: encoder, setting: smallest, bytes: 1 << 20}
		a := b.settings(&encode{layout: &overlay.Layout{Width: 640, Height: 585, Level: "4.1"}})
		said := func(key string) string { text, _ := a[key].(string); return text }
		if said("c:v") != encoder || said("profile:v") != want.profile || said("crf") != want.quality || said("b:v") != want.bits || said("pix_fmt") != "yuv420p" {
			t.Errorf("%s is asked %v", encoder, a)
		}
		for _, own := range []string{"preset", "crf_max", "level"} {
			if _, ok := a[own]; ok != (encoder == "libx264") {
				t.Errorf("%s is asked for %s", encoder, own)
			}
		}
	}
}

// A captioned video, sound and all, isn't to be larger than one and a half times the
// recording, as long as its bits suffice for a picture.
func TestTheCeilingIsOneAndAHalfTimesTheRecording(t *testing.T) {
	stereo := &ffmpeg.AudioStream{Channels: 2}
	for name, c := range map[string]struct {
		seconds int
		bytes   int64
		audio   *ffmpeg.AudioStream
		none    bool
	}{
		"ten minutes, silent":       {seconds: 600, bytes: 60 << 20},
		"ten minutes, with sound":   {seconds: 600, bytes: 60 << 20, audio: stereo},
		"ten seconds":               {seconds: 10, bytes: 1 << 20},
		"nothing but sound's worth": {seconds: 600, bytes: 1 << 20, audio: stereo},
		"rich in bits":              {seconds: 60, bytes: 1 << 30, none: true},
	} {
		b := &burn{rec: recorded(25*c.seconds, c.audio), bytes: c.bytes}
		a := b.ceiling(mostTimes)
		if c.none != (a == nil) {
			t.Errorf("%s: %v", name, a)
		}
		if a == nil {
			continue
		}
		rate, err := strconv.Atoi(a["maxrate"].(string))
		buffer, err2 := strconv.Atoi(a["bufsize"].(string))
		if err != nil || err2 != nil || rate <= 0 {
			t.Fatalf("%s: %v", name, a)
		}
		// The encoder may spend the rate all along, and what the buffer holds.
		most := float64(rate)*float64(c.seconds) + float64(buffer) + float64(soundRate(b.rec)*c.seconds)
		if limit := 1.5 * 8 * float64(c.bytes); most > limit && rate > 1000 {
			t.Errorf("%s: %.0f bits may come of %.0f", name, most, limit)
		}
	}
}

// The noise that an encoder short of bits left isn't worth its weight.
func TestASmallRecordingGivesASmallVideo(t *testing.T) {
	t.Parallel()
	small := testfootage.Numbered(t, testfootage.Spec{Frames: 250, Width: 160, Height: 120, Crf: 34, GOP: 250, BFrames: 3})
	r := makeJob(t, jobOf(t, noCounter, "", small), Options{Only: []string{"video"}})
	was, err := os.Stat(small)
	if err != nil {
		t.Fatal(err)
	}
	is, err := os.Stat(filepath.Join(r.Out, "video", "job.mp4"))
	if err != nil {
		t.Fatal(err)
	}
	if share := float64(is.Size()) / float64(was.Size()); share > 1.5 {
		t.Errorf("%d bytes became %d: %.2f times as many", was.Size(), is.Size(), share)
	}
}

// The exact jobs prove the same of the kinds that are usual.
func TestTheCaptionedVideoIsWhatOrdinaryPlayersTake(t *testing.T) {
	all := []testfootage.Spec{
		{Frames: 60, Width: 160, Height: 120, Rate: timecode.Rate{Num: 60000, Den: 1001}, Container: "ts", Audio: true},
	}
	if soak.On() {
		all = append(all, testfootage.Spec{Frames: 40, Audio: true}, testfootage.Spec{Frames: 40, Rate: ntsc, Container: "mkv", BFrames: 2, Audio: true},
			testfootage.Spec{Frames: 30, Rate: timecode.Rate{Num: 15, Den: 1}, Container: "avi", Audio: true})
	}
	for _, s := range all {
		if s.Rate.Num == 0 {
			s.Rate = pal
		}
		t.Run(fmt.Sprintf("%s, %d over %d", s.Container, s.Rate.Num, s.Rate.Den), func(t *testing.T) {
			t.Parallel()
			r := makeJob(t, jobOf(t, noCounter, "", testfootage.Numbered(t, s)), Options{Only: []string{"video"}})
			v := probeOf(t, filepath.Join(r.Out, "video", "job.mp4"))
			v.playsAnywhere(t, s.Rate)
			if v.sound == nil {
				t.Error("its sound is gone")
			}
		})
	}
}

// A recorder that waits before its second picture: players that know nothing of edit
// lists still show the pictures when they are heard.
func TestAGapAtTheStartDelaysNothing(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "gap.mp4")
	err := testfootage.Encode(context.Background(), func(w io.Writer) error {
		for n := range 60 {
			if _, err := w.Write(bytes.Repeat([]byte{byte(40 + 3*n)}, 160*120)); err != nil {
				return err
			}
		}
		return nil
	}, "-f", "rawvideo", "-pix_fmt", "gray", "-s", "160x120", "-r", "25", "-i", "pipe:0",
		"-vf", "settb=1/1000,setpts='if(gt(N,0),2000+40*N,0)'", "-vsync", "passthrough", "-enc_time_base", "1:1000", "-video_track_timescale", "1000",
		"-c:v", "libx264", "-pix_fmt", "yuv420p", "-bf", "2", path)
	if err != nil {
		t.Fatal(err)
	}
	r := makeJob(t, jobOf(t, noCounter, "video,what\n2.5,roots\n", path), Options{Only: []string{"video"}})
	packets := probeOf(t, filepath.Join(r.Out, "video", "job.mp4")).packets
	if len(packets) != 60 {
		t.Fatalf("%d pictures came of 60", len(packets))
	}
	for i, p := range packets {
		if want := r.Placed[0].Recording.Times[i]; p.at.Sub(want).Abs() > time.Millisecond || i == 1 && p.at.Seconds() < 2 {
			t.Fatalf("frame %d is shown at %v, it was filmed at %v", i, p.at, want)
		}
	}
	if at := packets[0].decoded.Seconds(); at < -0.1 || at > 0 {
		t.Errorf("the first picture is decoded at %.3f s", at)
	}
}

// Windows takes a command line of 32,767 characters at most. What isn't a filter graph
// stands on it with every ffmpeg: two thousand excerpts leave room for names and the rest.
func TestTwoThousandExcerptsFitACommandLine(t *testing.T) {
	rec := recorded(25*20_000, &ffmpeg.AudioStream{Channels: 2})
	tl := &timeline.Timeline{Sheet: &jobsheet.Sheet{Clips: jobsheet.Clips{Lead: 2 * time.Second, Tail: 4 * time.Second}}, ShowTo: rec.End}
	tl.Recording = timeline.Recording{Frames: rec.Times, End: rec.End, Parts: []timeline.Part{{}}}
	for i := range 2000 {
		frame := 100 + 250*i
		tl.Observations = append(tl.Observations, timeline.Observation{Number: i + 1, Frame: frame, Video: rec.Times[frame]})
	}
	plan := overlay.PlanFindings(tl)
	b := &burn{rec: rec, encoder: "libx264", bytes: 1 << 30}
	e := &encode{layout: &overlay.Layout{Width: 640, Height: 585, Level: "4.1"}, plan: &plan, sound: true}
	in := ffmpeg.Input("/a.mp4")
	out := ffmpeg.Output([]*ff.Stream{plan.CloseUp(plan.Pick(in.Get("v"), 0)), e.heard(rec, in.Get("a"))}, "/b.mp4", frames.OutputArgs(), b.settings(e), e.muxer(rec))
	args, err := ffmpeg.GraphArgs(out)
	if err != nil {
		t.Fatal(err)
	}
	graph := slices.Index(args, "-filter_complex") + 1
	long := len(strings.Join(args, " ")) - len(args[graph])
	t.Logf("%d characters, and %d of graph", long, len(args[graph]))
	if len(plan.Ranges) != 2000 || long > 24_000 {
		t.Errorf("%d ranges take %d characters", len(plan.Ranges), long)
	}
}

// A key frame is forced on the first frame at or after the time that is named: behind
// the frame before, and not behind its own.
func TestKeyTimesLieBetweenTwoFrames(t *testing.T) {
	const s = timecode.Video(1_000_000_000)
	for _, c := range []struct {
		before, at timecode.Video
		want       string
	}{
		{9 * s / 10, s, "0.95"},
		{199 * s / 25, 8 * s, "7.97"},
		{12*s + s/60, 12*s + s/30, "12.02"},
		{3661*s + 10_000_000, 3661*s + 11_000_000, "3661.0105"},
		{s, s + 50_000, "1.000025"},
	} {
		got := shortest(c.before, c.at)
		v, err := strconv.ParseFloat(got, 64)
		if ns := timecode.Video(math.Round(v * 1e9)); err != nil || ns <= c.before || ns >= c.at || len(got) > len(c.want) {
			t.Errorf("between %v and %v: %s", c.before, c.at, got)
		}
	}
}
