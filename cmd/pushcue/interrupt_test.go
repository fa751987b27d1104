package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/handover"
	"pushcue/internal/soak"
)

// A stop is when a run is stopped and how.
type stop struct {
	line   func(n int, text string) bool // of what it says
	after  time.Duration
	signal os.Signal
}

// stoppedAt runs a command and sends it a signal; false when it was done before.
func stoppedAt(t *testing.T, cmd *exec.Cmd, s stop) bool {
	t.Helper()
	said, err := cmd.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(said)
	for n := 0; lines.Scan(); n++ {
		if s.line(n, lines.Text()) {
			time.AfterFunc(s.after, func() { _ = cmd.Process.Signal(s.signal) })
		}
	}
	err = cmd.Wait()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		t.Fatal(err)
	}
	if err == nil {
		return false
	}
	if code := exit.ExitCode(); s.signal == os.Interrupt && code != exitInterrupted {
		t.Errorf("an interrupted run ended with %d", code)
	}
	return true
}

// A run that is stopped leaves no half file, and the next one goes on: interrupted and
// killed while it burns captions, and once they are burned.
func TestARunThatIsStoppedGoesOn(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("a process can't be sent an interrupt there")
	}
	t.Parallel()
	saying := func(text string) func(int, string) bool {
		return func(_ int, line string) bool { return strings.Contains(line, text) }
	}
	stopAndGoOn(t, 3,
		stop{saying("burning captions"), 0, os.Interrupt},
		stop{saying("burning captions"), 0, syscall.SIGKILL},
		stop{saying("writing page"), 0, syscall.SIGKILL})
}

// The same at any moment whatever.
func TestARunStoppedAnywhereGoesOn(t *testing.T) {
	if !soak.On() {
		t.Skip("the kinds of moments are in TestARunThatIsStoppedGoesOn; for many more set PUSHCUE_SOAK=1")
	}
	for range soak.Count(1, 25) {
		seed := rand.Uint64()
		t.Run(fmt.Sprintf("seed %d", seed), func(t *testing.T) {
			random := rand.New(rand.NewPCG(seed, 1))
			var stops []stop
			for step := range 6 {
				signal := []os.Signal{os.Interrupt, syscall.SIGKILL}[random.IntN(2)]
				after := time.Duration(random.IntN(400)) * time.Millisecond
				stops = append(stops, stop{func(n int, _ string) bool { return n == step }, after, signal})
			}
			stopAndGoOn(t, 1, stops...)
		})
	}
}

// stopAndGoOn stops runs one after the other, at least so many of them before they are
// done, and lets the last one come to its end.
func stopAndGoOn(t *testing.T, atLeast int, stops ...stop) {
	t.Helper()
	program, dir := runner(t), smallJob(t)
	stopped := 0
	for _, s := range stops {
		if stoppedAt(t, program("make", dir), s) {
			stopped++
		}
		noHalfFile(t, dir)
	}
	if stopped < atLeast {
		t.Errorf("%d runs were stopped", stopped)
	}
	if out, err := program("make", dir).CombinedOutput(); err != nil {
		t.Fatalf("the last run: %v\n%s", err, out)
	}
	if got, want := listing(t, filepath.Join(dir, "handover")), madeOfSmall(t); !slices.Equal(got, want) {
		t.Errorf("after being stopped:\n%q\nwithout:\n%q", got, want)
	}
	checkSums(t, filepath.Join(dir, "handover"))
	unchanged(t, dir)
}

// An ffmpeg that hangs is stopped, and the error is one that can be acted on.
func TestAHangingFFmpegIsStopped(t *testing.T) {
	t.Parallel()
	hanging, err := ffmpeg.Find(context.Background(), ffmpeg.Where{Settings: standIns(t, "hang")})
	if err != nil {
		t.Fatal(err)
	}
	job := smallJob(t)
	v, err := handover.Open(context.Background(), handover.Ask{Path: job})
	if err != nil {
		t.Fatal(err)
	}
	_, err = handover.Make(context.Background(), hanging, v, handover.Options{Patience: 5 * time.Second}, nil)
	var failed *ffmpeg.Error
	if !errors.As(err, &failed) || !strings.Contains(failed.Text.String(), "hangs") || failed.Hint.Empty() {
		t.Errorf("got %v", err)
	}
	if left := listing(t, filepath.Join(job, "handover")); len(left) > 0 {
		t.Errorf("left behind: %q", left)
	}
}
