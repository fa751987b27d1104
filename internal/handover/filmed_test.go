package handover

import (
	"context"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pushcue/internal/footage"
	"pushcue/internal/job"
	"pushcue/internal/placing"
	"pushcue/internal/soak"
	"pushcue/internal/testfootage"
	"pushcue/timeline"
	"pushcue/timeline/distance"
)

var keepFilmed = flag.String("keepfilmed", "", "folder to leave filmed jobs in, to be looked at")

// A take is one part of a push as a recorder stores it.
type take struct {
	rec    footage.Recorder
	as     string // the file's ending
	codec  []string
	turned int // degrees that a player turns it
}

// film films a take of a scene.
func (k take) film(t *testing.T, name string, scene footage.Scene) (path string, truth footage.Truth) {
	t.Helper()
	shoot, err := footage.NewShoot(scene, k.rec)
	if err != nil {
		t.Fatal(err)
	}
	path = filepath.Join(t.TempDir(), name+k.as)
	args := []string{"-f", "rawvideo", "-pix_fmt", "yuv420p", "-s", fmt.Sprintf("%dx%d", k.rec.Width, k.rec.Height), "-r", fmt.Sprint(k.rec.Rate), "-i", "pipe:0"}
	if k.turned == 90 {
		args = append(args, "-vf", "transpose=cclock")
	}
	if k.codec == nil {
		k.codec = []string{"-c:v", "libx264", "-preset", "ultrafast", "-crf", "22", "-g", "20"}
	}
	err = testfootage.Encode(context.Background(), func(w io.Writer) error {
		for shoot.Next() {
			if _, err := w.Write(shoot.Frame()); err != nil {
				return err
			}
		}
		return nil
	}, slices.Concat(args, k.codec, []string{"-y", path})...)
	if err == nil && k.turned != 0 {
		err = testfootage.Turn(path, k.turned)
	}
	if err != nil {
		t.Fatal(err)
	}
	return path, shoot.Truth()
}

// there is a push with two stands, a pull-back and a stand at its end, 36 s long.
func there() footage.Scene {
	scene := footage.House(7)
	scene.Van = 0
	scene.Moves = []footage.Move{{For: 3, To: 0}, {For: 8, To: 2.6}, {For: 4, To: 2.6}, {For: 8, To: 5.4}, {For: 4, To: 5.4}, {For: 3, To: 4.3}, {For: 3, To: 4.3}, {For: 3, To: 5}}
	return scene
}

// From when to when the camera stood where the rows of the log say, in seconds.
var stoodAt = [][2]float64{{11, 15}, {23, 27}, {30, 33}}

// briefly is the same in 20 s.
func briefly() footage.Scene {
	scene := there()
	scene.Moves = []footage.Move{{For: 2, To: 0}, {For: 5, To: 1.6}, {For: 3, To: 1.6}, {For: 4, To: 3.4}, {For: 2, To: 3.4}, {For: 2, To: 2.7}, {For: 2, To: 2.7}}
	return scene
}

var stoodBriefly = [][2]float64{{7, 10}, {14, 16}, {18, 20}}

var outlined = footage.Look{Face: "mono-bold", Height: 30, X: .05, Y: .84, Outline: true, Unit: "m", Decimals: 1, Pad: 2}

func quarter(c *footage.Counter) footage.Recorder {
	return footage.Recorder{Width: 352, Height: 288, Rate: 12.5, Counter: c}
}

// What stands on the picture must come out right, or not at all: whatever the recorder
// stores, each distance that is claimed is where the head was, and each row stands at
// the moment at which the camera stood there.
func TestCounterOnThePictureWhateverTheRecorder(t *testing.T) {
	feet := outlined
	feet.Feet, feet.Unit = true, "ft"
	pal := footage.Recorder{Width: 720, Height: 576, Rate: 25, PixelAspect: 16.0 / 15, Interlaced: true, Counter: &footage.Counter{Look: outlined}}
	laced := []string{"-c:v", "mpeg2video", "-q:v", "4", "-g", "12", "-flags", "+ilme+ildct", "-top", "1", "-aspect", "4:3"}
	half := func(r footage.Recorder, from, to float64) footage.Recorder {
		r.From, r.To = from, to
		return r
	}
	small := quarter(&footage.Counter{Look: outlined})
	large := small
	large.Width, large.Height = 480, 384
	bare := quarter(nil)
	const rezeroed, rezeroedLog = "[[distance.reset]]\nvideo = \"0:13\"\nplace = \"2.6 m\"\n", "2.6 m;grease\n2.8 m;roots\n1.7 m;crack\n"
	for _, c := range []struct {
		name          string
		takes         []take
		log           string // "" for distances from the start
		sheet         string
		hidden        [][2]float64 // seconds at which nothing may be claimed
		resets        int
		long          bool
		brief         bool
		sealed        bool   // our own folder can't be made
		says, saysToo string // in warnings
	}{
		{name: "set to zero on the way, turned, briefly", takes: []take{{rec: quarter(&footage.Counter{Look: outlined, Rezero: []float64{8.5}}), as: ".mp4", turned: 90}},
			sheet: "[[distance.reset]]\nvideo = \"0:08.5\"\nplace = \"1.6 m\"\n", log: "1.6 m;grease\n1.8 m;roots\n1.1 m;crack\n", brief: true,
			resets: 1, sealed: true, says: "goes from 1.6 m to 0.0 m", saysToo: "can't be kept"},
		{name: "set to zero on the way", takes: []take{{rec: quarter(&footage.Counter{Look: outlined, Rezero: []float64{13}}), as: ".mp4"}},
			sheet: rezeroed, log: rezeroedLog, resets: 1, long: true, says: "goes from 2.6 m to 0.0 m"},
		{name: "turned", takes: []take{{rec: quarter(&footage.Counter{Look: outlined}), as: ".mp4", turned: 90}}, long: true, sealed: true, says: "can't be kept"},
		{name: "two sizes of picture", takes: []take{{rec: half(small, 0, 19), as: ".mp4"}, {rec: half(large, 19, 0), as: ".mp4"}}, long: true},
		{name: "PAL fields in TS", takes: []take{{rec: pal, as: ".ts", codec: laced}}, long: true},
		{name: "PAL fields in AVI", takes: []take{{rec: pal, as: ".avi", codec: laced}}, long: true},
		{name: "below zero at first", takes: []take{{rec: quarter(&footage.Counter{Look: outlined, Zero: 1.2}), as: ".mp4"}},
			sheet: "[distance]\nzero = \"-1.2 m\"\n", log: "1.4 m;grease\n4.2 m;roots\n3.1 m;crack\n", long: true},
		{name: "feet", takes: []take{{rec: quarter(&footage.Counter{Look: feet}), as: ".mp4"}}, long: true},
		{name: "hidden for a while", takes: []take{{rec: quarter(&footage.Counter{Look: outlined, Blank: [][2]float64{{16, 22}}}), as: ".mp4"}},
			hidden: [][2]float64{{18, 21.9}}, long: true},
		{name: "a part without a counter", takes: []take{{rec: half(small, 0, 29), as: ".mp4"}, {rec: half(bare, 29, 0), as: ".mp4"}},
			hidden: [][2]float64{{31, 36}}, long: true, says: "part2.mp4: no counter was read"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if c.long && !soak.On() && *keepFilmed == "" {
				t.Skip("the first one stands for it in the short run")
			}
			t.Parallel()
			var files []string
			var truth []footage.FrameTruth
			scene, stood := there(), stoodAt
			if c.brief {
				scene, stood = briefly(), stoodBriefly
			}
			for i, k := range c.takes {
				file, told := k.film(t, fmt.Sprint("part", i+1), scene)
				files, truth = append(files, file), append(truth, told.Frames...)
			}
			if c.log == "" {
				c.log = "2.6 m;grease\n5.4 m;roots\n4.3 m;crack\n"
			}
			dir := jobOf(t, "[job]\nzone = \"UTC\"\n[counter]\nlook = \"auto\"\n"+c.sheet, "distance;what\n"+c.log, files...)
			if *keepFilmed != "" {
				leave(t, dir, filepath.Join(*keepFilmed, c.name))
			}
			if c.sealed {
				overwrite(t, filepath.Join(dir, job.WorkName), "not a folder")
			}
			p, _ := placeJob(t, dir, placing.PlaceOptions{})
			if !p.Open() || c.sealed != (p.CounterSheet == "") {
				t.Errorf("something is left open: %v; the sheet: %q", p.Open(), p.CounterSheet)
			}
			claimsAreTrue(t, p, truth, c.hidden)
			if n := len(p.Timeline.Track.Resets()); n != c.resets {
				t.Errorf("set anew %d times, want %d", n, c.resets)
			}
			rowsStandWhereTheCameraStood(t, p, stood, c.hidden)
			for _, says := range []string{c.says, c.saysToo} {
				if !slices.ContainsFunc(p.Warnings, func(w timeline.Warning) bool { return strings.Contains(w.Text.String(), says) }) {
					t.Errorf("nothing says %q: %+v", says, p.Warnings)
				}
			}
		})
	}
}

func leave(t *testing.T, from, to string) {
	t.Helper()
	if err := os.RemoveAll(to); err != nil {
		t.Fatal(err)
	}
	if err := os.CopyFS(to, os.DirFS(from)); err != nil {
		t.Fatal(err)
	}
}

// claimsAreTrue holds what the track claims at each frame against where the head was.
func claimsAreTrue(t *testing.T, p *placing.Placed, truth []footage.FrameTruth, hidden [][2]float64) {
	t.Helper()
	if len(truth) != len(p.Recording.Times) {
		t.Fatalf("%d frames were filmed, %d are shown", len(truth), len(p.Recording.Times))
	}
	claims, near, worst := 0, 0, 0.0
	for i, v := range p.Recording.Times {
		point := p.Timeline.Track.At(v)
		if point.State < distance.Filled {
			continue
		}
		if inAny(hidden, truth[i].Scene) {
			t.Errorf("at %v %.2f m is claimed, though nothing is shown", v, float64(point.Metres))
			return
		}
		claims++
		off := math.Inf(1)
		for k := max(0, i-3); k <= min(i+3, len(truth)-1); k++ {
			off = min(off, math.Abs(truth[k].Distance-float64(point.Metres)))
		}
		if off <= 0.16 { // a step of the display in feet, and what its rounding hides
			near++
		}
		worst = max(worst, off)
	}
	told := fmt.Sprintf("claimed at %d of %d frames, within a step at %d, off by %.2f m at most", claims, len(truth), near, worst)
	t.Log(told)
	if claims*10 < len(truth)*7 || near*100 < claims*99 || worst > 0.3 {
		t.Error(told)
	}
}

func inAny(spans [][2]float64, s float64) bool {
	return slices.ContainsFunc(spans, func(w [2]float64) bool { return w[0] <= s && s <= w[1] })
}

func rowsStandWhereTheCameraStood(t *testing.T, p *placing.Placed, stoodAt, hidden [][2]float64) {
	t.Helper()
	for i, stood := range stoodAt {
		if inAny(hidden, stood[0]) || inAny(hidden, stood[1]) {
			continue
		}
		n := slices.IndexFunc(p.Timeline.Observations, func(o timeline.Observation) bool { return o.Row == i+1 })
		if n < 0 {
			t.Errorf("row %d wasn't placed: %+v", i+1, p.Timeline.Unplaced)
			continue
		}
		if v := p.Timeline.Observations[n].Video; v.Seconds() < stood[0]-0.5 || v.Seconds() > stood[1]+0.5 {
			t.Errorf("row %d stands at %v, the camera stood there from %.0f to %.0f s", i+1, v, stood[0], stood[1])
		}
	}
}
