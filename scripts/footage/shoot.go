package main

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"pushcue/internal/footage"
)

// shoot paints one recording as its flags say.
func shoot(ctx context.Context, args []string) error {
	f := flag.NewFlagSet("shoot", flag.ContinueOnError)
	out := f.String("o", "run.mp4", "recording to write; its ending says the container")
	seed := f.Uint64("seed", 1, "what the pipe looks like")
	size := f.String("size", "640x480", "of the picture")
	rate := f.Float64("rate", 25, "frames a second")
	aspect := f.Float64("aspect", 1, "width of a pixel by its height")
	interlaced := f.Bool("interlaced", false, "two fields a frame")
	grain := f.Float64("grain", 2.5, "noise of the sensor")
	tape := f.Float64("tape", 0, "faults of a tape, 0 to 1")
	numbers := f.Bool("numbers", false, "the frame's number as blocks")
	look := f.String("look", "plain", "how the counter is written; \"\" for none")
	zero := f.Float64("zero", 0, "where the head was when the counter was set to zero, metres; above 0 it begins below zero")
	slip := f.Float64("slip", 0, "-0.02: the counter shows 2 % too little")
	lag := f.Float64("lag", 0.3, "seconds that the counter is late")
	rezero := f.Float64("rezero", 0, "second at which the counter was set to zero again")
	blank := f.Float64("blank", 0, "second from which the counter is hidden for 5 s")
	clock := f.String("clock", "2019-01-01T00:04:00Z", "the recorder's clock at the start; \"\" for none")
	elapsed := f.Bool("elapsed", false, "time since the start in place of the clock")
	from := f.Float64("from", 0, "second of the scene to begin at")
	to := f.Float64("to", 0, "second of the scene to end at; 0 for its end")
	sound := f.Bool("sound", false, "with sound")
	codec := f.String("codec", "-c:v libx264 -crf 21 -preset veryfast", "ffmpeg's options for the output")
	bitrate := f.String("bitrate", "", "such as 800k, in place of a quality")
	if err := f.Parse(args); err != nil {
		return err
	}
	rec := footage.Recorder{Rate: *rate, PixelAspect: *aspect, Interlaced: *interlaced, Grain: *grain, Tape: *tape,
		Numbers: *numbers, From: *from, To: *to}
	if _, err := fmt.Sscanf(*size, "%dx%d", &rec.Width, &rec.Height); err != nil {
		return fmt.Errorf("size %q: write it as 640x480", *size)
	}
	if *look != "" {
		l, ok := footage.LookNamed(*look)
		if !ok {
			return fmt.Errorf("no look %q: footage looks lists them", *look)
		}
		rec.Counter = &footage.Counter{Look: l, Zero: *zero, Slip: *slip, Lag: *lag}
		if *rezero > 0 {
			rec.Counter.Rezero = []float64{*rezero}
		}
		if *blank > 0 {
			rec.Counter.Blank = [][2]float64{{*blank, *blank + 5}}
		}
	}
	if *clock != "" {
		at, err := time.Parse(time.RFC3339, *clock)
		if err != nil {
			return err
		}
		rec.Clock = &footage.Clock{At: at, Elapsed: *elapsed}
	}
	output := strings.Fields(*codec)
	if *bitrate != "" {
		output = append(output, "-b:v", *bitrate)
	}
	if *interlaced {
		output = append(output, "-flags", "+ilme+ildct", "-top", "1")
	}
	output = append(output, "-vf", fmt.Sprintf("setsar=%d/1000", int(*aspect*1000)))
	truth, err := encode(ctx, footage.House(*seed), rec, *sound, *out, output...)
	if err != nil {
		return err
	}
	return writeFile(strings.TrimSuffix(*out, filepath.Ext(*out))+".truth.json", func(w io.Writer) error {
		head, err := json.Marshal(truth)
		if err != nil {
			return err
		}
		fmt.Fprintf(w, "%s,\n \"frames\": [\n", head[:len(head)-1])
		if err := truth.WriteFrames(w); err != nil {
			return err
		}
		_, err = fmt.Fprintln(w, "]}")
		return err
	})
}

func writeFile(path string, write func(io.Writer) error) error {
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	if err := write(f); err != nil {
		f.Close()
		return err
	}
	return f.Close()
}
