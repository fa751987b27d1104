package main

import (
	"strings"
	"testing"
	"time"

	"pushcue/internal/handover/drive"
	"pushcue/timeline/words"
)

// Where no bar can be drawn, a line now and then tells how long a copy will take.
func TestACopyTellsTheTimeLeft(t *testing.T) {
	var out strings.Builder
	clock := time.Date(2026, 3, 2, 10, 0, 0, 0, time.UTC)
	show := newLines(&out, voice{})
	show.now = func() time.Time { return clock }
	one := &oneDrive{name: "copying to /media/stick", show: show}
	for _, at := range []struct {
		seconds int
		done    int64
	}{{0, 0}, {1, 10}, {15, 250}, {16, 260}, {30, 500}} {
		clock = time.Date(2026, 3, 2, 10, 0, at.seconds, 0, time.UTC)
		one.tell(drive.Progress{Step: words.Tell("copying"), Done: at.done, Total: 1000})
	}
	want := "copying to /media/stick\n" +
		"copying to /media/stick: 25 %, about 45s left\n" +
		"copying to /media/stick: 50 %, about 30s left\n"
	if out.String() != want {
		t.Errorf("said\n%s\nwant\n%s", out.String(), want)
	}
}
