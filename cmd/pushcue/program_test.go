package main

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/testfootage"
)

// runner makes this test binary act as the program, with a temporary folder of
// its own: a run that is killed can't clear away what it has there.
func runner(t *testing.T) func(args ...string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	program := filepath.Join(dir, "pushcue")
	if err := os.Symlink(self, program); err != nil {
		t.Fatal(err)
	}
	return func(args ...string) *exec.Cmd {
		cmd := exec.Command(program, args...)
		cmd.Env = append(os.Environ(), "TMPDIR="+dir)
		return cmd
	}
}

// inProcess runs the program without starting a process, and returns its exit code
// and what it said on standard output and on standard error.
func inProcess(t *testing.T, args ...string) (code int, out, errs string) {
	t.Helper()
	var o, e oneWriter
	code = run(t.Context(), append([]string{"pushcue"}, args...), &o, &e)
	return code, o.String(), e.String()
}

// oneWriter takes what several write.
type oneWriter struct {
	mu  sync.Mutex
	all bytes.Buffer
}

var _ io.Writer = (*oneWriter)(nil)

func (w *oneWriter) Write(p []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.all.Write(p)
}

func (w *oneWriter) String() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.all.String()
}

func codeOf(t *testing.T, err error) int {
	t.Helper()
	var exit *exec.ExitError
	switch {
	case err == nil:
		return 0
	case errors.As(err, &exit):
		return exit.ExitCode()
	}
	t.Fatal(err)
	return -1
}

func foundTools(t *testing.T) *ffmpeg.Tools {
	t.Helper()
	tools, err := ffmpeg.Find(context.Background(), ffmpeg.Where{Cache: ffmpeg.UserCache()})
	if err != nil {
		t.Fatal(err)
	}
	return tools
}

// noHalfFile fails when a video in the handover isn't whole, or when a list of sums
// stands there that doesn't hold.
func noHalfFile(t *testing.T, dir string) {
	t.Helper()
	out := filepath.Join(dir, "handover")
	for _, name := range listing(t, out) {
		if strings.HasSuffix(name, ".mp4") && !wholeMP4(read(t, filepath.Join(out, name))) {
			t.Errorf("%s isn't whole", name)
		}
	}
	if _, err := os.Stat(filepath.Join(out, "SHA256SUMS")); err == nil {
		checkSums(t, out)
	}
}

// wholeMP4 reports whether a file's boxes (ISO/IEC 14496-12, clause 4.2) end where the
// file ends, with an index and pictures among them.
func wholeMP4(file string) bool {
	kinds := map[string]bool{}
	for len(file) > 0 {
		if len(file) < 8 {
			return false
		}
		long := int(binary.BigEndian.Uint32([]byte(file)))
		if long < 8 || long > len(file) {
			return false
		}
		kinds[file[4:8]] = true
		file = file[long:]
	}
	return kinds["moov"] && kinds["mdat"]
}

func TestAHalfMP4IsTold(t *testing.T) {
	whole := read(t, testfootage.Numbered(t, testfootage.Spec{Frames: 50, Audio: true}))
	if !wholeMP4(whole) {
		t.Error("a whole one isn't taken for one")
	}
	for _, n := range []int{0, 20, len(whole) / 2, len(whole) - 1} {
		if wholeMP4(whole[:n]) {
			t.Errorf("the first %d bytes are taken for all of it", n)
		}
	}
}

// checkSums lets coreutils check the list of sums.
func checkSums(t *testing.T, dir string) {
	t.Helper()
	cmd := exec.Command("sha256sum", "--quiet", "--strict", "-c", "SHA256SUMS")
	cmd.Dir = dir
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Errorf("sha256sum: %v\n%s", err, out)
	}
}

// tool runs a program that a test needs, and returns what it said.
func tool(t *testing.T, name string, args ...string) string {
	t.Helper()
	out, err := exec.CommandContext(t.Context(), name, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v (scripts/test installs what is missing)\n%s", name, err, out)
	}
	return string(out)
}
