package testfootage

import (
	"bytes"
	"fmt"
	"image"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"

	"pushcue/timeline/timecode"
)

var kinds = map[string]Spec{
	"mp4 GOP 60 with B-frames":  {Frames: 130, GOP: 60, BFrames: 2},
	"mp4 GOP 250 with B-frames": {Frames: 130, GOP: 250, BFrames: 3},
	"mp4 open GOP":              {Frames: 60, GOP: 20, BFrames: 2, OpenGOP: true},
	"mp4 starts late":           {StartOffset: 1500 * time.Millisecond, BFrames: 2},
	"mp4 hidden pre-roll":       {PreRoll: 7, GOP: 30, BFrames: 2},
	"mp4 varying rate":          {VFR: true, BFrames: 2},
	"mov turned":                {Container: "mov", Rotation: 90},
	"mp4 upside down":           {Rotation: 180},
	"3gp":                       {Container: "3gp", Codec: "mpeg4"},
	"avi mjpeg":                 {Container: "avi"},
	"avi mpeg-4":                {Container: "avi", Codec: "mpeg4", BFrames: 2},
	"mkv with sound":            {Container: "mkv", Audio: true, BFrames: 2, Rate: timecode.Rate{Num: 30000, Den: 1001}},
	"mkv varying rate":          {Container: "mkv", VFR: true},
	"ts":                        {Container: "ts", BFrames: 2, Audio: true, StartOffset: 10 * time.Second},
	"ts interlaced":             {Container: "ts", Codec: "mpeg2", Interlaced: true, BFrames: 2, SAR: timecode.Rate{Num: 16, Den: 15}},
	"ts h264 interlaced":        {Container: "ts", Interlaced: true},
	"ts of single fields":       {Container: "ts", Codec: "h264-fields", Frames: 30},
	"mp4 of single fields":      {Codec: "h264-fields", Frames: 30},
	"avi packed B-frames":       {Container: "avi", Codec: "mpeg4-packed", BFrames: 2, Frames: 49},
	"m2ts":                      {Container: "m2ts"},
	"mpg":                       {Container: "mpg", BFrames: 2, Audio: true},
	"webm":                      {Container: "webm", Audio: true},
	"flv":                       {Container: "flv", Codec: "flv1"},
	"wmv":                       {Container: "wmv", Audio: true},
	"mxf":                       {Container: "mxf"},
	"dv":                        {Container: "dv", Frames: 10},
	"sound late":                {Audio: true, AudioDelay: 300 * time.Millisecond},
	"spoiled frames":            {Blurred: []int{5}, Bright: []int{6}, Dark: []int{7}, Stand: [][2]int{{10, 20}}},
}

func TestEveryFrameCarriesItsNumber(t *testing.T) {
	for name, spec := range kinds {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			path := Numbered(t, spec)
			spec = spec.whole()
			got := numbers(t, path)
			if len(got) != spec.Frames {
				t.Fatalf("%d frames shown, want %d: %v", len(got), spec.Frames, got)
			}
			for i, n := range got {
				if n != spec.First+i {
					t.Fatalf("frame %d carries %d: %v", i, n, got)
				}
			}
		})
	}
}

func TestVaryingRateKeepsItsTimes(t *testing.T) {
	for _, container := range []string{"mp4", "mkv"} {
		spec := Spec{VFR: true, Container: container, BFrames: 2}
		out, err := exec.Command("ffprobe", "-v", "error", "-select_streams", "v", "-show_entries", "frame=pts_time",
			"-of", "csv=p=0", Numbered(t, spec)).Output()
		if err != nil {
			t.Fatal(err)
		}
		want := spec.Times()
		for i, line := range strings.Fields(string(out)) {
			at, err := strconv.ParseFloat(strings.Trim(line, ","), 64)
			if off := at - want[i].Seconds(); err != nil || off > 0.0006 || off < -0.0006 {
				t.Fatalf("%s: frame %d at %v, want %v", container, i, at, want[i])
			}
		}
	}
}

func TestTurnedPictureIsStoredOnItsSide(t *testing.T) {
	out, err := exec.Command("ffprobe", "-v", "error", "-show_streams", Numbered(t, Spec{Container: "mov", Rotation: 90})).Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"width=320", "height=240", "rotation=-90"} {
		if !strings.Contains(string(out), want) {
			t.Errorf("no %q in %s", want, out)
		}
	}
}

// numbers decodes the recording as a player would and reads each frame.
func numbers(t *testing.T, path string) []int {
	t.Helper()
	var said bytes.Buffer
	cmd := exec.Command("ffmpeg", "-nostdin", "-v", "error", "-i", path, "-map", "0:v:0", "-vsync", "passthrough",
		"-f", "image2pipe", "-c:v", "pgm", "-pix_fmt", "gray", "pipe:1")
	cmd.Stderr = &said
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v: %s", err, said.String())
	}
	var found []int
	for r := bytes.NewReader(out); r.Len() > 0; {
		var w, h, most int
		if _, err := fmt.Fscanf(r, "P5\n%d %d\n%d\n", &w, &h, &most); err != nil {
			t.Fatal(err)
		}
		img := image.NewGray(image.Rect(0, 0, w, h))
		if _, err := r.Read(img.Pix); err != nil {
			t.Fatal(err)
		}
		n, ok := ReadNumber(img)
		if !ok {
			n = -1
		}
		found = append(found, n)
	}
	return found
}
