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
	"pushcue/internal/job"
	"pushcue/internal/soak"
)

// A stop is when a run is stopped and how.
type stop struct {
	line    func(n int, text string) bool // of what it says
	after   time.Duration
	signal  os.Signal
	stopped func() // called when it was stopped so; nil for nothing
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
		stop{line: saying("burning captions"), signal: os.Interrupt},
		stop{line: saying("burning captions"), signal: syscall.SIGKILL},
		stop{line: saying("writing page"), signal: syscall.SIGKILL})
}

// stages are the lines that make says when it begins something, in their order.
var stages = []string{"taking the sums", "reading the recording", "burning captions", "cutting clips", "copying the recording", "writing page"}

// The same at moments drawn at random in every stage.
func TestARunStoppedAnywhereGoesOn(t *testing.T) {
	if !soak.On() {
		t.Skip("the kinds of moments are in TestARunThatIsStoppedGoesOn, kills between operations on the disk in internal/handover; for hundreds of kills of whole runs set PUSHCUE_SOAK=1")
	}
	kills := map[string]int{}
	all := func() (n int) {
		for _, k := range kills {
			n += k
		}
		return n
	}
	for want := soak.Count(6, 300); all() < want; {
		seed := rand.Uint64()
		t.Run(fmt.Sprintf("seed %d", seed), func(t *testing.T) {
			random := rand.New(rand.NewPCG(seed, 1))
			var stops []stop
			for _, stage := range stages {
				signal := []os.Signal{syscall.SIGKILL, syscall.SIGKILL, syscall.SIGKILL, os.Interrupt}[random.IntN(4)]
				stops = append(stops, stop{
					line:  func(_ int, line string) bool { return strings.Contains(line, stage) },
					after: time.Duration(random.IntN(200)) * time.Millisecond, signal: signal,
					stopped: func() {
						if signal == syscall.SIGKILL {
							kills[stage]++
						}
					},
				})
			}
			stopAndGoOn(t, 1, stops...)
		})
		if t.Failed() {
			break
		}
	}
	t.Logf("%d kills: %v", all(), kills)
}

// stopAndGoOn stops runs one after the other, at least so many of them before they are
// done, and lets the last one come to its end.
func stopAndGoOn(t *testing.T, atLeast int, stops ...stop) {
	t.Helper()
	program, dir := runner(t), smallJob(t)
	stopped := 0
	for _, s := range stops {
		if stoppedAt(t, program("make", dir), s) {
			if stopped++; s.stopped != nil {
				s.stopped()
			}
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
	j := smallJob(t)
	v, err := job.Open(context.Background(), job.Ask{Path: j})
	if err != nil {
		t.Fatal(err)
	}
	_, err = handover.Make(context.Background(), hanging, v, handover.Options{Patience: 5 * time.Second}, nil)
	var failed *ffmpeg.Error
	if !errors.As(err, &failed) || !strings.Contains(failed.Text.String(), "hangs") || failed.Hint.Empty() {
		t.Errorf("got %v", err)
	}
	if left := listing(t, filepath.Join(j, "handover")); len(left) > 0 {
		t.Errorf("left behind: %q", left)
	}
}
