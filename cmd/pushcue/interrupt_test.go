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
	"pushcue/internal/testfootage"
)

// runner makes this test binary act as the program.
func runner(t *testing.T) func(args ...string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	program := filepath.Join(t.TempDir(), "pushcue")
	if err := os.Symlink(self, program); err != nil {
		t.Fatal(err)
	}
	return func(args ...string) *exec.Cmd { return exec.Command(program, args...) }
}

func smallJob(t *testing.T) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "job")
	for i, s := range []testfootage.Spec{{Frames: 150, Audio: true}, {Frames: 100, First: 150, Audio: true}} {
		copyTo(t, testfootage.Numbered(t, s), filepath.Join(dir, []string{"part1.mp4", "part2.mp4"}[i]))
	}
	writeTo(t, filepath.Join(dir, "log.csv"), "video,distance,what\n0:02,1.0 m,roots\n0:03,1.5 m,crack\n0:07.5,3.5 m,belly\n")
	writeTo(t, filepath.Join(dir, "job.toml"), "[clips]\nlead = \"0.4s\"\ntail = \"0.6s\"\n[stills]\nwindow = \"0.2s\"\n")
	return dir
}

func copyTo(t *testing.T, from, to string) {
	t.Helper()
	text, err := os.ReadFile(from)
	if err != nil {
		t.Fatal(err)
	}
	writeTo(t, to, string(text))
}

func writeTo(t *testing.T, path, text string) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

// stopAt runs make and sends it a signal a little after it began its nth step;
// false when it was done before.
func stopAt(t *testing.T, cmd *exec.Cmd, step int, signal os.Signal, after time.Duration) bool {
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
		if n == step {
			time.AfterFunc(after, func() { _ = cmd.Process.Signal(signal) })
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
	if code := exit.ExitCode(); signal == os.Interrupt && code != exitInterrupted {
		t.Errorf("an interrupted run ended with %d", code)
	}
	return true
}

// A run that is stopped at any moment leaves no half file, and the next one goes on.
func TestARunStoppedAnywhereGoesOn(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("a process can't be sent an interrupt there")
	}
	program := runner(t)
	clean := smallJob(t)
	if out, err := program("make", clean).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	want := listing(t, filepath.Join(clean, "handover"))
	for range soak.Count(1, 25) {
		seed := rand.Uint64()
		t.Run(fmt.Sprintf("seed %d", seed), func(t *testing.T) {
			stopAndGoOn(t, program, clean, want, rand.New(rand.NewPCG(seed, 1)))
		})
	}
}

// stopAndGoOn stops runs one after the other, each a step later, and lets the last one
// come to its end.
func stopAndGoOn(t *testing.T, program func(...string) *exec.Cmd, clean string, want []string, random *rand.Rand) {
	t.Helper()
	dir := smallJob(t)
	stopped := 0
	for step := range 6 {
		signal := []os.Signal{os.Interrupt, syscall.SIGKILL}[random.IntN(2)]
		if stopAt(t, program("make", dir), step, signal, time.Duration(random.IntN(400))*time.Millisecond) {
			stopped++
		}
		noHalfFile(t, program, dir)
	}
	if stopped == 0 {
		t.Error("no run was stopped")
	}
	if out, err := program("make", dir).CombinedOutput(); err != nil {
		t.Fatalf("the last run: %v\n%s", err, out)
	}
	if got := listing(t, filepath.Join(dir, "handover")); !slices.Equal(got, want) {
		t.Errorf("after being stopped:\n%q\nwithout:\n%q", got, want)
	}
	checkSums(t, filepath.Join(dir, "handover"))
	for _, name := range []string{"part1.mp4", "part2.mp4", "log.csv", "job.toml"} {
		if read(t, filepath.Join(dir, name)) != read(t, filepath.Join(clean, name)) {
			t.Errorf("%s was changed", name)
		}
	}
}

// noHalfFile fails when a video in the handover can't be read, or when a list of
// sums stands there that doesn't hold.
func noHalfFile(t *testing.T, program func(...string) *exec.Cmd, dir string) {
	t.Helper()
	out := filepath.Join(dir, "handover")
	tools := foundTools(t)
	for _, name := range listing(t, out) {
		if strings.HasSuffix(name, ".mp4") {
			if _, err := tools.Probe(context.Background(), filepath.Join(out, name), name); err != nil {
				t.Errorf("%s: %v", name, err)
			}
		}
	}
	if _, err := os.Stat(filepath.Join(out, "SHA256SUMS")); err == nil {
		checkSums(t, out)
	}
}

func checkSums(t *testing.T, dir string) {
	t.Helper()
	cmd := exec.Command("sha256sum", "--quiet", "--strict", "-c", "SHA256SUMS")
	cmd.Dir = dir
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Errorf("sha256sum: %v\n%s", err, out)
	}
}

func listing(t *testing.T, root string) []string {
	t.Helper()
	var names []string
	err := filepath.WalkDir(root, func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			if errors.Is(err, os.ErrNotExist) {
				return nil
			}
			return err
		}
		rel, err := filepath.Rel(root, path)
		names = append(names, filepath.ToSlash(rel))
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return names
}

func read(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func foundTools(t *testing.T) *ffmpeg.Tools {
	t.Helper()
	tools, err := ffmpeg.Find(context.Background(), ffmpeg.Where{Cache: ffmpeg.UserCache()})
	if err != nil {
		t.Fatal(err)
	}
	return tools
}

// Two runs at once: the second is told, and changes nothing.
func TestASecondRunIsTold(t *testing.T) {
	program := runner(t)
	dir := smallJob(t)
	first := program("make", dir)
	said, err := first.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := first.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(said)
	lines.Scan() // it has begun
	out, err := program("make", dir).CombinedOutput()
	var exit *exec.ExitError
	if !errors.As(err, &exit) || exit.ExitCode() != exitInput || !strings.Contains(string(out), "another pushcue is at work") {
		t.Errorf("%v\n%s", err, out)
	}
	for lines.Scan() {
	}
	if err := first.Wait(); err != nil {
		t.Errorf("the first run: %v", err)
	}
}

// An ffmpeg that hangs is stopped, and the error is one that can be acted on.
func TestAHangingFFmpegIsStopped(t *testing.T) {
	tools := foundTools(t)
	t.Setenv("REAL_FFMPEG", tools.FFmpeg)
	t.Setenv("REAL_FFPROBE", tools.FFprobe)
	t.Setenv("FAKE", "hang")
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for _, tool := range []string{"ffmpeg", "ffprobe"} {
		if err := os.Symlink(self, filepath.Join(dir, tool)); err != nil {
			t.Fatal(err)
		}
	}
	hanging, err := ffmpeg.Find(context.Background(), ffmpeg.Where{Settings: dir})
	if err != nil {
		t.Fatal(err)
	}
	job := smallJob(t)
	v, err := handover.Open(context.Background(), handover.Ask{Path: job})
	if err != nil {
		t.Fatal(err)
	}
	_, err = handover.Make(context.Background(), hanging, v, handover.Options{Patience: 2 * time.Second}, nil)
	var failed *ffmpeg.Error
	if !errors.As(err, &failed) || !strings.Contains(failed.Text.String(), "hangs") || failed.Hint.Empty() {
		t.Errorf("got %v", err)
	}
	if left := listing(t, filepath.Join(job, "handover")); len(left) > 0 {
		t.Errorf("left behind: %q", left)
	}
}
