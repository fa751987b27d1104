package handover

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/testfootage"
	"pushcue/timeline/timecode"
)

// A clapped is a recording in which the picture turns white for two frames, and a
// tone starts, at the same moments.
type clapped struct {
	file   string
	frames int
	rate   timecode.Rate
	claps  []int         // frames
	delay  time.Duration // the sound begins so much after the picture
	codecs []string
}

func (c clapped) make(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), c.file)
	seconds := func(frame int) float64 { return float64(frame) * float64(c.rate.Den) / float64(c.rate.Num) }
	var tones []string
	for _, n := range c.claps {
		at := seconds(n) - c.delay.Seconds()
		tones = append(tones, fmt.Sprintf("between(t,%.6f,%.6f)", at, at+0.05))
	}
	args := []string{"-f", "rawvideo", "-pix_fmt", "gray", "-s", "160x120", "-r", fmt.Sprintf("%d/%d", c.rate.Num, c.rate.Den), "-i", "pipe:0",
		"-itsoffset", fmt.Sprint(c.delay.Seconds()), "-f", "lavfi",
		"-i", fmt.Sprintf("aevalsrc='0.8*sin(6283*t)*(%s)':s=48000:d=%.6f", strings.Join(tones, "+"), seconds(c.frames)-c.delay.Seconds()),
		"-map", "0:v", "-map", "1:a"}
	err := testfootage.Encode(context.Background(), func(w io.Writer) error {
		for n := range c.frames {
			shade := byte(40)
			if slices.Contains(c.claps, n) || slices.Contains(c.claps, n-1) {
				shade = 230
			}
			if _, err := w.Write(bytes.Repeat([]byte{shade}, 160*120)); err != nil {
				return err
			}
		}
		return nil
	}, append(append(args, c.codecs...), path)...)
	if err != nil {
		t.Fatal(err)
	}
	return path
}

// flashes are when the pictures of some videos turn white.
func flashes(t *testing.T, videos []string) [][]timecode.Video {
	t.Helper()
	found := make([][]timecode.Video, len(videos))
	shown := make([][]packet, len(videos))
	for i, video := range videos {
		shown[i] = probeOf(t, video).packets
	}
	n, white := make([]int, len(videos)), make([]bool, len(videos))
	eachFrame(t, videos, func(i int, p *image.Gray) {
		is := p.Pix[len(p.Pix)/2+p.Stride/2] > 150
		if is && !white[i] {
			found[i] = append(found[i], shown[i][n[i]].at)
		}
		white[i] = is
		n[i]++
	})
	return found
}

// tones are when sound starts after a silence, in some videos.
func tones(t *testing.T, videos []string) [][]timecode.Video {
	t.Helper()
	const loud, silence = 20, 48000 / 10 // of 127; samples
	dir := t.TempDir()
	decoded := func(i int) string { return filepath.Join(dir, fmt.Sprint(i)) }
	var inputs, outputs []string
	for i, video := range videos {
		inputs = append(inputs, "-i", "file:"+video)
		outputs = append(outputs, "-map", fmt.Sprintf("%d:a:0", i), "-af", "aresample=48000:async=1:first_pts=0", "-ac", "1", "-c:a", "pcm_s8", "-f", "s8", "file:"+decoded(i))
	}
	if _, err := realTools(t).Do(context.Background(), ffmpeg.Run{Args: append(inputs, outputs...), Sources: testfootage.Inputs(inputs)}); err != nil {
		t.Fatal(err)
	}
	found := make([][]timecode.Video, len(videos))
	for k := range videos {
		last := -silence
		for i, b := range []byte(content(t, decoded(k))) {
			if v := int8(b); v > loud || v < -loud {
				if i-last >= silence {
					found[k] = append(found[k], timecode.VideoSeconds(float64(i)/48000))
				}
				last = i
			}
		}
	}
	return found
}

// inStep: what is heard comes with what is seen, well within a frame: less than a
// thousandth of a second is usual. claps is how many each video holds.
func inStep(t *testing.T, videos []string, claps []int) {
	t.Helper()
	const most = 12 * time.Millisecond
	allSeen, allHeard := flashes(t, videos), tones(t, videos)
	for k, video := range videos {
		seen, heard := allSeen[k], allHeard[k]
		if len(seen) != claps[k] || len(heard) != claps[k] {
			t.Errorf("%s: %d claps are seen and %d heard, want %d", filepath.Base(video), len(seen), len(heard), claps[k])
			continue
		}
		for i := range seen {
			if off := heard[i].Sub(seen[i]); off < -most || off > most {
				t.Errorf("%s: clap %d is seen at %v and heard %v after it", filepath.Base(video), i+1, seen[i], off)
			}
		}
	}
}

func TestSoundStaysWithThePicture(t *testing.T) {
	t.Parallel()
	h264 := []string{"-c:v", "libx264", "-preset", "veryfast", "-pix_fmt", "yuv420p", "-bf", "2"}
	parts := []clapped{
		{"a.mp4", 120, ntsc, []int{30, 75}, 300 * time.Millisecond, append(h264, "-c:a", "aac")},
		{"b.avi", 100, pal, []int{20, 80}, 0, []string{"-c:v", "mjpeg", "-c:a", "pcm_s16le"}},
		{"c.ts", 120, ntsc, []int{45, 90}, 0, append(h264, "-c:a", "mp2", "-output_ts_offset", "7")},
	}
	var recordings []string
	for _, p := range parts {
		recordings = append(recordings, p.make(t))
	}
	const log = "video,what\n1.1,roots\n4.9,crack\n9.6,hole\n"
	for name, c := range map[string]struct {
		sheet        string
		kinds        []string
		whole, clips int
	}{
		"whole":        {"", []string{"video"}, 6, 0},
		"shown inside": {"[recording]\nshow_from = \"0:01.2\"\nshow_to = \"0:10.3\"\n", []string{"video", "clips"}, 4, 2},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			dir := jobOf(t, c.sheet+"[counter]\nlook = \"off\"\n[clips]\nlead = \"0.7s\"\ntail = \"0.8s\"\n", log, recordings...)
			r := makeJob(t, dir, Options{Only: c.kinds})
			videos, claps := []string{filepath.Join(r.Out, "video", "job.mp4")}, []int{c.whole}
			if c.clips > 0 {
				videos, claps = append(videos, filepath.Join(r.Out, "clips", "findings.mp4")), append(claps, c.clips)
			}
			clips, err := filepath.Glob(filepath.Join(r.Out, "clips", "0*.mp4"))
			if err != nil || len(clips) != c.clips {
				t.Fatalf("the clips are %q %v", clips, err)
			}
			for _, clip := range clips {
				videos, claps = append(videos, clip), append(claps, 1)
			}
			inStep(t, videos, claps)
		})
	}
}
