package review

import (
	"os"
	"path/filepath"
	"testing"

	"pushcue/internal/testfootage"
)

const (
	demoSheet = "[job]\nreference = \"77-A\"\ndate = 2026-03-02\nzone = \"Europe/Lisbon\"\n[recording]\nstarts = \"10:00:00\"\n[log]\nlag = \"0s\"\n[counter]\nlook = \"off\"\n"
	demoLog   = "time;distance;what;clock;urgency;note\n10:00:00;1.0;roots;9-3;repair;fine ones\n10:00:01;2.0;crack;12;watch;\n10:00:02;x.x;belly;6;;\n"
)

// The pictures are small: nothing here hangs on their size.
var (
	part1 = testfootage.Spec{Frames: 60, Width: 160, Height: 120, GOP: 30, BFrames: 2}
	part2 = testfootage.Spec{Frames: 25, First: 60, Width: 160, Height: 120, Container: "avi", Codec: "mjpeg"} // which browsers don't play
)

// jobFolder is a job with a recording of 60 frames; log "" leaves the log out.
func jobFolder(t testing.TB, sheet, log string) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "77-A")
	fill(t, dir, sheet, log)
	return dir
}

// twoParts is a job whose recording goes on in a second part, of 25 frames.
func twoParts(t testing.TB) string {
	t.Helper()
	dir := jobFolder(t, demoSheet, demoLog)
	testfootage.Link(t, part2, filepath.Join(dir, "part2.avi"))
	return dir
}

// fill makes a job's folder.
func fill(t testing.TB, dir, sheet, log string) {
	t.Helper()
	testfootage.Link(t, part1, filepath.Join(dir, "part1.mp4"))
	write(t, filepath.Join(dir, "job.toml"), sheet)
	if log != "" {
		write(t, filepath.Join(dir, "log.csv"), log)
	}
}

// write puts text into a file, or into a new one in its place.
func write(t testing.TB, path, text string) {
	t.Helper()
	_ = os.Remove(path) // it may be linked to what other tests use
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}
