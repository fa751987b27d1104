package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"pushcue/internal/footage"
	"pushcue/internal/testfootage"
)

// drain films the house's drain at 1280x720 and 30 frames a second, 5 Mbit/s,
// H.264 with B-frames, and repeats it for as long as is wanted.
func (b *bench) drain(ctx context.Context, minutes int) (string, error) {
	path := filepath.Join(b.work, fmt.Sprintf("drain-%dmin.mp4", minutes))
	if _, err := os.Stat(path); err == nil {
		return path, nil
	}
	const once = 30 // seconds
	loop := filepath.Join(b.work, "drain-once.mp4")
	if _, err := os.Stat(loop); err != nil {
		if err := os.MkdirAll(b.work, 0o755); err != nil {
			return "", err
		}
		if err := film(ctx, loop, once); err != nil {
			return "", err
		}
	}
	return path, repeat(ctx, loop, path, minutes*60, minutes*60/once)
}

func film(ctx context.Context, path string, seconds float64) error {
	fmt.Fprintln(os.Stderr, "filming", filepath.Base(path))
	look, _ := footage.LookNamed("plain")
	shoot, err := footage.NewShoot(footage.House(1), footage.Recorder{Width: 1280, Height: 720, Rate: 30,
		From: 12, To: 12 + seconds, Counter: &footage.Counter{Look: look}})
	if err != nil {
		return err
	}
	return testfootage.Encode(ctx, func(w io.Writer) error {
		for shoot.Next() {
			if _, err := w.Write(shoot.Frame()); err != nil {
				return err
			}
		}
		return nil
	}, "-f", "rawvideo", "-pix_fmt", "yuv420p", "-s", "1280x720", "-r", "30", "-i", "pipe:0",
		"-c:v", "libx264", "-preset", "medium", "-b:v", "5M", "-maxrate", "6M", "-bufsize", "10M",
		"-g", "60", "-keyint_min", "60", "-sc_threshold", "0", "-bf", "2", path)
}

// repeat copies a film so many times over and gives it a sound.
func repeat(ctx context.Context, from, to string, seconds, times int) error {
	return testfootage.Encode(ctx, nil, "-stream_loop", fmt.Sprint(times-1), "-i", from,
		"-f", "lavfi", "-i", fmt.Sprintf("sine=frequency=220:sample_rate=48000:duration=%d", seconds),
		"-map", "0:v", "-map", "1:a", "-c:v", "copy", "-c:a", "aac", "-b:a", "96k", "-movflags", "+faststart", to)
}

// numbered is hours of small pictures, for what doesn't depend on their size.
func (b *bench) numbered(ctx context.Context, hours int) (string, error) {
	path := filepath.Join(b.work, fmt.Sprintf("numbered-%dh.mp4", hours))
	if _, err := os.Stat(path); err == nil {
		return path, nil
	}
	if err := os.MkdirAll(b.work, 0o755); err != nil {
		return "", err
	}
	once, err := testfootage.Make(ctx, testfootage.Spec{Frames: 1500, GOP: 60, BFrames: 2})
	if err != nil {
		return "", err
	}
	return path, repeat(ctx, once, path, hours*3600, hours*60)
}

// job lays out a job folder with a log of so many rows, evenly spread.
func (b *bench) job(name, recording string, seconds, rows int) (string, error) {
	folder := filepath.Join(b.work, name)
	if err := os.RemoveAll(folder); err != nil {
		return "", err
	}
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return "", err
	}
	if err := os.Link(recording, filepath.Join(folder, "push.mp4")); err != nil {
		return "", err
	}
	var log strings.Builder
	log.WriteString("video,distance,what,clock,urgency,note\n")
	kinds := []string{"roots", "crack", "offset joint", "connection", "grease", "belly"}
	for i := range rows {
		at := (float64(i) + 0.5) * float64(seconds) / float64(rows)
		fmt.Fprintf(&log, "%d:%02d:%04.1f,%.1f m,%s,%d,watch,\"seen from the access point, about a third of the bore\"\n",
			int(at)/3600, int(at)/60%60, at-float64(int(at)/60*60), 0.3+25*at/float64(seconds), kinds[i%len(kinds)], i%12+1)
	}
	if err := os.WriteFile(filepath.Join(folder, "log.csv"), []byte(log.String()), 0o644); err != nil {
		return "", err
	}
	const sheet = "[job]\nreference = \"bench\"\ndate = 2026-03-02\nzone = \"Europe/Lisbon\"\n[line]\nname = \"kitchen lateral\"\nfrom = \"rear clean-out\"\nto = \"mainline\"\n[recording]\nstarts = \"10:02:11\"\n[counter]\nlook = \"off\"\n"
	return folder, os.WriteFile(filepath.Join(folder, "job.toml"), []byte(sheet), 0o644)
}

// afresh removes what an earlier make has left.
func afresh(folder string) error {
	for _, made := range []string{"handover", "work"} {
		if err := os.RemoveAll(filepath.Join(folder, made)); err != nil {
			return err
		}
	}
	return nil
}

// pushcue runs the program on a job as if for the first time. 3 is its exit code
// for something left open.
func (b *bench) ours(ctx context.Context, folder string, args ...string) (usage, error) {
	if err := afresh(folder); err != nil {
		return usage{}, err
	}
	return measure(ctx, folder, []int{3}, b.pushcue, append(args, folder)...)
}
