package main

import (
	"path/filepath"
	"strings"
	"testing"

	"pushcue/internal/testfootage"
)

// A recording of one picture is called that, not 0:00.0 long.
func TestARecordingOfOnePicture(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "push")
	layParts(t, dir, testfootage.Spec{Frames: 1, Width: 160, Height: 120})
	writeTo(t, filepath.Join(dir, "log.csv"), "video,distance,what\n0:00,1.0 m,roots\n")
	code, out, errs := inProcess(t, "check", dir)
	if code != exitDone || !strings.Contains(out, "a recording of one picture") || strings.Contains(out, "0:00.0 of recording") {
		t.Errorf("%d %s%s", code, out, errs)
	}
}
