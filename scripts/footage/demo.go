package main

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"time"

	"pushcue/internal/footage"
)

// The demo's story: a kitchen lateral filmed on a spring morning. The recorder
// still ran on winter time, the watch that the log was written from was 95 s
// ahead, the counter had been set to zero at the reel and slipped, and the
// recorder was stopped for a while before the crack.
const (
	watchAhead = 95 * time.Second
	pauseAt    = 45.0 // second of the scene
	pauseFor   = 140 * time.Second
	slip       = -0.025
	reel       = -0.41 // the head's place when the counter was set to zero, metres
)

var (
	site, _  = time.LoadLocation("Europe/Madrid")
	begun    = time.Date(2026, 4, 14, 10, 2, 11, 0, site) // true time of the first frame
	recorder = -1*time.Hour - 40*time.Second              // its clock minus true time
)

func demo(ctx context.Context, args []string) error {
	f := flag.NewFlagSet("demo", flag.ContinueOnError)
	to := f.String("to", filepath.Join("testdata", "demo"), "folder to write; the truth goes beside it")
	if err := f.Parse(args); err != nil {
		return err
	}
	for _, folder := range []string{"spoken", "photos"} {
		if err := os.MkdirAll(filepath.Join(*to, folder), 0o755); err != nil {
			return err
		}
	}
	if err := speak(ctx, *to); err != nil { // first, since it may want for a program
		return err
	}
	scene := footage.House(1)
	parts := []part{{"tramo1.mp4", 0, pauseAt, 0}, {"tramo2.mp4", pauseAt, scene.Length(), pauseFor}}
	var truths []footage.Truth
	for _, p := range parts {
		truth, err := p.film(ctx, scene, *to)
		if err != nil {
			return err
		}
		truths = append(truths, truth)
	}
	for name, write := range map[string]func(io.Writer) error{
		"registro.csv": writeLog, "job.toml": writeSheet,
		"photos/1 registro.jpg": writePhoto,
	} {
		if err := writeFile(filepath.Join(*to, name), write); err != nil {
			return err
		}
	}
	return writeFile(filepath.Clean(*to)+"-truth.json", func(w io.Writer) error {
		return writeTruth(w, scene, parts, truths)
	})
}

// A part is one file of the demo's recording, from and to in scene seconds.
type part struct {
	file     string
	from, to float64
	paused   time.Duration // how long the recorder had been stopped before it
}

func (p part) film(ctx context.Context, scene footage.Scene, folder string) (footage.Truth, error) {
	look, _ := footage.LookNamed("plain")
	rec := footage.Recorder{
		Width: 640, Height: 480, Rate: 25, Grain: 1.6, From: p.from, To: p.to,
		Counter: &footage.Counter{Look: look, Zero: reel, Slip: slip, Lag: 0.2},
		Clock:   &footage.Clock{At: begun.Add(p.paused + recorder)},
	}
	written := begun.Add(p.paused + recorder + seconds(p.from))
	return encode(ctx, scene, rec, true, filepath.Join(folder, p.file),
		"-c:v", "libx264", "-preset", "slow", "-crf", "29", "-g", "50", "-bf", "2", "-pix_fmt", "yuv420p",
		"-c:a", "aac", "-b:a", "48k", "-movflags", "+faststart", "-fflags", "+bitexact",
		// Recorders write their local time and call it UTC.
		"-metadata", "creation_time="+written.Format("2006-01-02T15:04:05Z"))
}

// inVideo is a scene second in the joined recording; the pause takes no time there.
func inVideo(scene float64) float64 { return scene }

// trueTime is the civil time of a scene second.
func trueTime(scene float64) time.Time {
	at := begun.Add(seconds(scene))
	if scene >= pauseAt {
		at = at.Add(pauseFor)
	}
	return at
}

func seconds(s float64) time.Duration { return time.Duration(math.Round(s * float64(time.Second))) }

// writeTruth writes what really was, to hold a finished handover against.
func writeTruth(w io.Writer, scene footage.Scene, parts []part, truths []footage.Truth) error {
	type filmed struct {
		File  string  `json:"file"`
		Start float64 `json:"start_s"`
		End   float64 `json:"end_s"`
		True  string  `json:"true_time_at_start"`
	}
	head := struct {
		About   string           `json:"about"`
		Rate    float64          `json:"rate"`
		Ahead   float64          `json:"log_ahead_s"`
		Parts   []filmed         `json:"parts"`
		Rows    []seen           `json:"rows"`
		Defects []footage.Defect `json:"defects"`
	}{About: "Seconds are of the joined recording; distances are the head's, from the access point.", Rate: 25,
		Ahead: watchAhead.Seconds(), Rows: rowsSeen(), Defects: scene.Defects()}
	for _, p := range parts {
		head.Parts = append(head.Parts, filmed{p.file, inVideo(p.from), inVideo(p.to), trueTime(p.from).Format(time.RFC3339Nano)})
	}
	text, err := json.MarshalIndent(head, "", " ")
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "%s,\n \"frames\": [\n", text[:len(text)-2])
	var all footage.Truth
	for _, t := range truths {
		for _, f := range t.Frames {
			f.Number = len(all.Frames)
			all.Frames = append(all.Frames, f)
		}
	}
	if err := all.WriteFrames(w); err != nil {
		return err
	}
	_, err = fmt.Fprint(w, " ]\n}\n")
	return err
}
