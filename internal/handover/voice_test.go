package handover

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pushcue/frames"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/placing"
	"pushcue/internal/testfootage"
	"pushcue/timeline/words"
)

// Phones write AMR into 3GP with ten frames in a packet. As the sound of a recording and
// as a spoken note it is heard from its first frame to its last.
func TestAMRWithSeveralFramesAPacketIsHeardWhole(t *testing.T) {
	const frames = 200
	const long = frames * testfootage.AMRFrame
	dir := jobOf(t, "", shortLog, plain(t))
	overwrite(t, filepath.Join(dir, "spoken", "1 roots.3gp"), string(testfootage.AMR3GP(nil, frames, 10)))
	must(t, os.Remove(filepath.Join(dir, "part1.mp4")))
	video := content(t, testfootage.Numbered(t, testfootage.Spec{Frames: 100, Width: 160, Height: 120}))
	overwrite(t, filepath.Join(dir, "part1.3gp"), string(testfootage.AMR3GP([]byte(video), frames, 10)))
	r := makeJob(t, dir, Options{Only: []string{"video", "spoken"}})
	for _, w := range r.Warnings {
		if strings.HasPrefix(string(w.Code), "recording-") || strings.HasPrefix(string(w.Code), "spoken-") {
			t.Errorf("%s: %s", w.Code, w.Text)
		}
	}
	for name, ends := range map[string]float64{"video/job.mp4": long, "spoken/01_0.8m_roots.m4a": long} {
		all := testfootage.Hear(t, filepath.Join(r.Out, filepath.FromSlash(name)), 8000)
		if got := float64(len(all)) / 8000; got < ends-0.05 || got > ends+0.05 {
			t.Errorf("%s: %.2f s of %.2f", name, got, ends)
		}
		for at := 0.1; at+0.1 < ends; at += 0.1 {
			if silent(all[int(at*8000):int((at+0.1)*8000)]) {
				t.Errorf("%s: nothing is heard at %.1f s", name, at)
			}
		}
	}
}

func silent(part []float64) bool {
	for _, v := range part {
		if v > 0.01 || v < -0.01 {
			return false
		}
	}
	return true
}

// A sound of which too little comes out of the decoder is named, but not beside the news
// that the recording is cut off.
func TestASoundThatCantBeDecodedWholeIsNamed(t *testing.T) {
	short := &frames.Heard{Decoded: 420 * time.Millisecond, Claimed: 4 * time.Second}
	rec := &frames.Recording{Parts: []frames.Part{{Name: "a.3gp", Sound: short}, {Name: "b.3gp"}, {Name: "c.3gp", Sound: short, Damage: words.Tell("it was cut off")}}}
	got := placing.SoundsCut(rec)
	if len(got) != 1 || got[0].Text.String() != "a.3gp: its sound couldn't be decoded whole: 400ms of 4s came out" || got[0].Hint.Empty() {
		t.Errorf("%+v", got)
	}
}

// What codecs add and leave out at both ends of a sound is no loss.
func TestALossOfSoundIsToldFromTheEndsOfACodec(t *testing.T) {
	for _, c := range []struct {
		claimed, decoded time.Duration
		misses           bool
	}{
		{2 * time.Hour, 2*time.Hour - 199*time.Millisecond, false},
		{2 * time.Hour, 2*time.Hour - 201*time.Millisecond, true},
		{2 * time.Hour, 2*time.Hour + 201*time.Millisecond, true},
		{5 * time.Second, 5*time.Second - 93*time.Millisecond, false},
		{5 * time.Second, 5*time.Second - 110*time.Millisecond, true},
	} {
		if got := ffmpeg.Misses(c.claimed, c.decoded); got != c.misses {
			t.Errorf("%v of %v: %v", c.decoded, c.claimed, got)
		}
	}
}
