package handover

import (
	"context"
	"encoding/json"
	"fmt"
	"image"
	"image/jpeg"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/testfootage"
	"pushcue/timeline"
	"pushcue/timeline/timecode"
)

func realTools(t *testing.T) *ffmpeg.Tools {
	t.Helper()
	tools, err := ffmpeg.Find(context.Background(), ffmpeg.Where{})
	if err != nil {
		t.Fatalf("ffmpeg 5.1 or newer is needed to test with: %v", err)
	}
	return tools
}

// jobOf makes a job folder of recordings, a log and a sheet.
func jobOf(t *testing.T, sheet, log string, recordings ...string) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "job")
	overwrite(t, filepath.Join(dir, "job.toml"), sheet)
	if log != "" {
		overwrite(t, filepath.Join(dir, "log.csv"), log)
	}
	for i, r := range recordings {
		overwrite(t, filepath.Join(dir, fmt.Sprintf("part%d%s", i+1, filepath.Ext(r))), content(t, r))
	}
	return dir
}

func makeJob(t *testing.T, dir string, o Options) *Result {
	t.Helper()
	v, err := Open(context.Background(), Ask{Path: dir, For: o.For})
	if err != nil {
		t.Fatal(err)
	}
	r, err := Make(context.Background(), realTools(t), v, o, nil)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// numbers reads the number of every frame that a video shows, in order.
func numbers(t *testing.T, video string) []int {
	t.Helper()
	tools := realTools(t)
	media, err := tools.Probe(context.Background(), video, filepath.Base(video))
	if err != nil {
		t.Fatal(err)
	}
	w, h := media.Video.Width, media.Video.Height
	var found []int
	_, err = tools.Do(context.Background(), ffmpeg.Run{
		Args: []string{"-i", "file:" + video, "-map", "0:v:0", "-fps_mode", "passthrough", "-pix_fmt", "gray", "-f", "rawvideo", "pipe:1"},
		Stdout: func(r io.Reader) error {
			picture := image.NewGray(image.Rect(0, 0, w, h))
			for {
				if _, err := io.ReadFull(r, picture.Pix); err == io.EOF {
					return nil
				} else if err != nil {
					return err
				}
				n, ok := testfootage.ReadNumber(picture)
				if !ok {
					n = -1
				}
				found = append(found, n)
			}
		},
	})
	if err != nil {
		t.Fatal(err)
	}
	return found
}

// inOrder fails unless found is first, first+1, … last.
func inOrder(t *testing.T, what string, found []int, first, last int) {
	t.Helper()
	if len(found) != last-first+1 {
		t.Errorf("%s holds %d frames, want %d: %v", what, len(found), last-first+1, found)
		return
	}
	for i, n := range found {
		if n != first+i {
			t.Errorf("%s: picture %d shows frame %d, want %d", what, i, n, first+i)
			return
		}
	}
}

func numberOf(t *testing.T, path string) int {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	img, err := jpeg.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	n, ok := testfootage.ReadNumber(img)
	if !ok {
		t.Errorf("%s: no number in the picture", path)
	}
	return n
}

func documentOf(t *testing.T, out string) *timeline.Document {
	t.Helper()
	d := new(timeline.Document)
	if err := json.Unmarshal([]byte(content(t, filepath.Join(out, timelineName))), d); err != nil {
		t.Fatal(err)
	}
	return d
}

var ntsc = timecode.Rate{Num: 30000, Den: 1001}

// recordings of the kinds that must be exact, each of one part or several.
var exactly = map[string][]testfootage.Spec{
	"mp4, 25":                               {{Frames: 250, Audio: true}},
	"mp4, GOP 60, B-frames, 29.97":          {{Frames: 200, GOP: 60, BFrames: 2, Rate: ntsc, Audio: true}},
	"mp4, GOP 250, B-frames, starts late":   {{Frames: 260, GOP: 250, BFrames: 3, StartOffset: 2 * time.Second, Audio: true, AudioDelay: 300 * time.Millisecond}},
	"mp4, varying rate":                     {{Frames: 135, VFR: true, BFrames: 2, Audio: true}},
	"avi, MJPEG, 29.97":                     {{Frames: 200, Container: "avi", Rate: ntsc, Audio: true}},
	"avi, MPEG-4":                           {{Frames: 200, Container: "avi", Codec: "mpeg4", Audio: true}},
	"mkv, B-frames, 29.97":                  {{Frames: 200, Container: "mkv", BFrames: 2, Rate: ntsc, Audio: true}},
	"mkv, varying rate":                     {{Frames: 135, Container: "mkv", VFR: true, BFrames: 2}},
	"ts, GOP 60, B-frames":                  {{Frames: 200, Container: "ts", GOP: 60, BFrames: 2, StartOffset: time.Hour, Audio: true}},
	"two parts of different kinds":          {{Frames: 100, Container: "avi", Codec: "mjpeg"}, {First: 100, Frames: 120, BFrames: 2, Rate: ntsc, Audio: true}},
	"turned, interlaced, odd pixels, 29.97": {{Frames: 200, Container: "mov", Rotation: 270, Interlaced: true, Height: 256, Rate: ntsc}},
}

// Rows lie far enough apart for cues of their own, and so near that the excerpts,
// from 1.0 s before to 0.8 s after, overlap.
const exactLog = "video,distance,what,note\n0:01.30,0.8 m,roots,\"left, at the joint\"\n0:02.91,1.4 m,crack,\n0:04.60,1.9 m,belly,\n0:06.45,2.2 m,hole,\n"

func TestEverythingMadeHoldsTheFramesItNames(t *testing.T) {
	if os.Getenv("PUSHCUE_TEST_SHORT") != "" {
		t.Skip("short")
	}
	for name, specs := range exactly {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			var recordings []string
			frames := 0
			for _, s := range specs {
				recordings = append(recordings, testfootage.Numbered(t, s))
				frames += s.Frames
			}
			for window, exact := range map[string]bool{"0s": true, "1s": false} {
				dir := jobOf(t, "[clips]\nlead = \"1s\"\ntail = \"0.8s\"\n[stills]\nwindow = \""+window+"\"\n", exactLog, recordings...)
				r := makeJob(t, dir, Options{})
				if exact {
					inOrder(t, "the captioned video", numbers(t, filepath.Join(r.Out, "video", "job.mp4")), 0, frames-1)
				}
				checkObservations(t, r, exact)
			}
		})
	}
}

// checkObservations compares stills, clips and cues with the timeline.
func checkObservations(t *testing.T, r *Result, exact bool) {
	t.Helper()
	placed := r.Placed[0]
	d := documentOf(t, r.Out)
	if len(d.Observations) != 4 {
		t.Fatalf("%d observations were placed", len(d.Observations))
	}
	starts := cueStarts(t, filepath.Join(r.Out, "video", "job.srt"))
	rec := placed.Timeline.Recording
	for i, o := range d.Observations {
		at := placed.Timeline.Observations[i]
		if o.Still == nil || o.Clip == nil {
			t.Fatalf("observation %d has no still or no clip", o.Number)
		}
		still := numberOf(t, filepath.Join(r.Out, *o.Still))
		if o.StillTime == nil {
			t.Fatalf("observation %d doesn't say which frame its still is", o.Number)
		}
		if index, _, _ := placed.Timeline.FrameAt(timecode.VideoSeconds(*o.StillTime)); index != still {
			t.Errorf("still %d shows frame %d, the timeline names %d", o.Number, still, index)
		}
		if exact && still != at.Frame {
			t.Errorf("still %d shows frame %d, it is placed on %d", o.Number, still, at.Frame)
		}
		clip := numbers(t, filepath.Join(r.Out, *o.Clip))
		inOrder(t, *o.Clip, clip, clip[0], clip[0]+len(clip)-1)
		if clip[0] < 0 || at.Frame < clip[0] || at.Frame > clip[len(clip)-1] {
			t.Errorf("%s holds frames %d to %d, the observation is on %d", *o.Clip, clip[0], clip[len(clip)-1], at.Frame)
			continue
		}
		if lead := at.Video.Sub(rec.Frames[clip[0]]); !startsPart(rec, clip[0]) && lead < time.Second || lead > 1300*time.Millisecond {
			t.Errorf("%s begins %v before its observation", *o.Clip, lead)
		}
		_, from, until := placed.Timeline.FrameAt(at.Video)
		if !anyWithin(starts, from, until) {
			t.Errorf("no cue starts on the frame of observation %d (%v): %v", o.Number, from, starts)
		}
	}
}

// startsPart reports a frame that no excerpt reaches beyond.
func startsPart(rec timeline.Recording, frame int) bool {
	return slices.ContainsFunc(rec.Parts, func(p timeline.Part) bool { return p.First == frame })
}

func anyWithin(times []timecode.Video, from, until timecode.Video) bool {
	for _, v := range times {
		// SubRip counts milliseconds.
		if v >= from-1_000_000 && v <= until {
			return true
		}
	}
	return false
}

var cueLine = regexp.MustCompile(`(?m)^(\d+):(\d+):(\d+),(\d+) -->`)

func cueStarts(t *testing.T, srt string) []timecode.Video {
	t.Helper()
	var starts []timecode.Video
	for _, m := range cueLine.FindAllStringSubmatch(content(t, srt), -1) {
		v, _, _, err := timecode.ParseVideo(strings.Join(m[1:4], ":") + "." + m[4])
		if err != nil {
			t.Fatal(err)
		}
		starts = append(starts, v)
	}
	return starts
}
