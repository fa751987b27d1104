package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// standIns is a folder with an ffmpeg and an ffprobe that are this test binary,
// and do what the mode says: see standIn.
func standIns(t *testing.T, mode string) string {
	t.Helper()
	dir := t.TempDir()
	if err := standInsIn(dir, mode); err != nil {
		t.Fatal(err)
	}
	return dir
}

// standInsIn puts them into a folder, or changes the mode of those that are there.
func standInsIn(dir, mode string) error {
	self, err := os.Executable()
	if err != nil {
		return err
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	for _, tool := range []string{"ffmpeg", "ffprobe"} {
		if _, err := os.Lstat(filepath.Join(dir, tool)); err == nil {
			continue
		}
		real, err := exec.LookPath(tool)
		if err != nil {
			return fmt.Errorf("%w (scripts/test installs what tests need)", err)
		}
		if err := os.Symlink(real, filepath.Join(dir, "real-"+tool)); err != nil {
			return err
		}
		if err := os.Symlink(self, filepath.Join(dir, tool)); err != nil {
			return err
		}
	}
	return os.WriteFile(filepath.Join(dir, "mode"), []byte(mode), 0o644)
}

// standIn does what the mode beside it says, and else hands on to the real one.
func standIn(name string) int {
	dir, args := filepath.Dir(os.Args[0]), os.Args[1:]
	text, err := os.ReadFile(filepath.Join(dir, "mode"))
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	mode := string(text)
	burns := strings.Contains(strings.Join(args, " "), "force_key_frames") || strings.Contains(strings.Join(args, " "), "ass=")
	switch {
	case mode == "old" && len(args) > 0 && args[len(args)-1] == "-version":
		fmt.Printf("%s version 4.2.1 Copyright (c) 2000-2019 the FFmpeg developers\n", name)
		return 0
	case mode == "halfway" && burns:
		fmt.Fprintln(os.Stderr, "av_interleaved_write_frame(): Input/output error")
		return 1
	case mode == "hang" && burns, mode == "hang-probe" && slices.Contains(args, "-show_streams"):
		<-time.After(time.Hour) // nothing at all would be a deadlock, and end it
	case mode == "full" && burns:
		fmt.Fprintln(os.Stderr, "av_interleaved_write_frame(): No space left on device\nError writing trailer of job.mp4: No space left on device\nConversion failed!")
		return 1
	case mode == "nothing" && burns:
		fmt.Println("progress=end")
		return 0
	case mode == "wait" && slices.Contains(args, "-show_streams"):
		// A pipe with a name: the test opens it once we are here, and closes it when
		// we may go on.
		if _, err := os.ReadFile(filepath.Join(dir, "here")); err != nil {
			fmt.Fprintln(os.Stderr, err)
			return 1
		}
	}
	cmd := exec.Command(filepath.Join(dir, "real-"+name), args...)
	cmd.Stdin, cmd.Stdout, cmd.Stderr = os.Stdin, os.Stdout, os.Stderr
	if err := cmd.Run(); err != nil {
		return max(1, cmd.ProcessState.ExitCode())
	}
	return 0
}
