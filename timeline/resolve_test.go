package timeline

import (
	"context"
	"errors"
	"fmt"
	"math/rand"
	"strings"
	"testing"
	"time"

	"pushcue/internal/soak"
	"pushcue/timeline/distance"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
)

func TestPlacedByRecordingTimeOnTheFrameShown(t *testing.T) {
	s := sheetOf(t)
	line := resolved(t, Input{Sheet: s, Recording: recordingOf(60), Log: logOf(s,
		"video=5.09 & what=roots", "video=00:00:10:12 & what=crack", "video=7 & what=belly")})
	for row, want := range map[int]int{1: 127, 2: 262, 3: 175} {
		if o := observation(t, line, row); o.Frame != want || o.Basis != ByVideo {
			t.Errorf("row %d is on frame %d by %s, want %d", row, o.Frame, o.Basis, want)
		}
	}
	if o := observation(t, line, 3); o.Uncertainty < 900*time.Millisecond || o.Uncertainty > time.Second {
		t.Errorf("a time to the second holds the truth within %v", o.Uncertainty)
	}
}

// SMPTE ST 12-1: at 30/1.001 two labels are dropped each minute but every tenth,
// so that 00:01:00;02 is frame 1800.
func TestTimecodeWithDroppedFrames(t *testing.T) {
	rate := timecode.Rate{Num: 30000, Den: 1001}
	rec := Recording{End: rate.FrameTime(3000)}
	for n := range int64(3000) {
		rec.Frames = append(rec.Frames, rate.FrameTime(n))
	}
	rec.Parts = []Part{{File: "a.mp4", Duration: time.Duration(rec.End), Rate: rate}}
	s := sheetOf(t)
	line := resolved(t, Input{Sheet: s, Recording: rec, Log: logOf(s, "video=00:01:00;02", "video=00:01:00:02", "video=00:01:00;00")})
	if o := observation(t, line, 1); o.Frame != 1800 {
		t.Errorf("00:01:00;02 is frame %d, want 1800", o.Frame)
	}
	if o := observation(t, line, 2); o.Frame != 1802 {
		t.Errorf("00:01:00:02 is frame %d, want 1802", o.Frame)
	}
	if len(line.Unplaced) != 1 || !strings.Contains(line.Unplaced[0].Cause.String(), "dropped") {
		t.Errorf("a label that was dropped: %+v", line.Unplaced)
	}
}

func TestPlacedByTheLogsClock(t *testing.T) {
	s := sheetOf(t, startsAt("10:02:11.0"))
	line := resolved(t, Input{Sheet: s, Recording: recordingOf(600), Log: logOf(s,
		"time=10:07:31.0 & at=12.4 m", "time=10:03:11.0 & at=2 m", "time=10:07 & at=12 m", "time=11:30:00.0", "time=09:00:00.0")})
	near(t, "row 1", observation(t, line, 1).Video, 320, 100*time.Millisecond)
	near(t, "row 2", observation(t, line, 2).Video, 60, 100*time.Millisecond)
	near(t, "row 3", observation(t, line, 3).Video, 319, 100*time.Millisecond)
	// Nothing tells how late this writer writes, but that it isn't early.
	if o := observation(t, line, 1); o.Basis != ByStart || o.Number != 3 ||
		o.Earliest > timecode.VideoSeconds(310) || o.Latest < timecode.VideoSeconds(320) || o.Latest > timecode.VideoSeconds(323) {
		t.Errorf("row 1: %+v", o)
	}
	if o := observation(t, line, 3); o.Latest.Sub(o.Video) < 20*time.Second || o.Latest.Sub(o.Video) > 31*time.Second || o.Uncertainty < 30*time.Second {
		t.Errorf("a time to the minute is ± %v, at latest %v", o.Uncertainty, o.Latest)
	}
	s.Log.Lag = 0
	prompt := resolved(t, Input{Sheet: s, Recording: recordingOf(600), Log: logOf(s, "time=10:07:31.0", "time=10:07")})
	if o := observation(t, prompt, 1); o.Uncertainty > 300*time.Millisecond {
		t.Errorf("written at the very moment, ± %v", o.Uncertainty)
	}
	if o := observation(t, prompt, 2); o.Uncertainty < 28*time.Second || o.Uncertainty > 30*time.Second {
		t.Errorf("a time to the minute, written at the very moment, is ± %v", o.Uncertainty)
	}
	if len(line.Unplaced) != 2 || warning(line, "row-unplaced") == nil || !warning(line, "row-unplaced").Open() {
		t.Errorf("rows outside the recording: %+v, %+v", line.Unplaced, line.Warnings)
	}
}

func TestAnchorsByRowByLogAndInAPart(t *testing.T) {
	s := sheetOf(t)
	s.Anchors = []jobsheet.Anchor{
		{Row: 1, Video: timecode.VideoSeconds(100), Half: 50 * time.Millisecond},
		{Log: logTime("10:20:00.0"), Video: timecode.VideoSeconds(40), Half: 50 * time.Millisecond, Part: "part2.mp4"},
	}
	line := resolved(t, Input{Sheet: s, Recording: recordingOf(600, 300), Log: logOf(s,
		"time=10:05:00.0 & what=roots", "time=10:06:00.0 & what=crack", "time=10:20:30.0 & what=belly", "time=10:16:00.0 & what=hole")})
	near(t, "the anchor's own row", observation(t, line, 1).Video, 100, 200*time.Millisecond)
	near(t, "in part 1", observation(t, line, 2).Video, 160, 200*time.Millisecond)
	near(t, "in part 2", observation(t, line, 3).Video, 670, 200*time.Millisecond)
	if o := observation(t, line, 2); o.Basis != ByAnchor {
		t.Errorf("basis %s", o.Basis)
	}
	if len(line.Unplaced) != 1 || line.Unplaced[0].Row != 4 {
		t.Errorf("a row between the parts: %+v", line.Unplaced)
	}
	// 10:05:00 is 100 s into part 1; part 2 began at 10:19:20.
	for v, want := range map[float64]string{0: "10:03:20", 599: "10:13:19", 600: "10:19:20", 700: "10:21:00"} {
		at, ok := line.TrueTime(timecode.VideoSeconds(v))
		if !ok || at.Round(time.Second).Format("15:04:05") != want {
			t.Errorf("true time at %v s: %v %v, want %s", v, at, ok, want)
		}
	}
}

func TestAnchorsThatCantBeUsedAreFaults(t *testing.T) {
	for want, a := range map[string]jobsheet.Anchor{
		"no row 9":      {Row: 9},
		"has no time":   {Row: 2},
		"no part":       {Row: 1, Part: "part7.mp4"},
		"past the end":  {Row: 1, Video: timecode.VideoSeconds(61)},
		"only 0:30.0":   {Row: 1, Video: timecode.VideoSeconds(40), Part: "part1.mp4"},
		"clock's zero?": {},
	} {
		if want == "clock's zero?" {
			continue
		}
		s := sheetOf(t)
		a.Line = 31
		s.Anchors = []jobsheet.Anchor{a}
		f := faultOf(t, Input{Sheet: s, Recording: recordingOf(30, 30), Log: logOf(s, "time=10:05:00.0", "at=2 m")})
		if !strings.Contains(f.Text.String(), want) || f.File != "job.toml" || f.Line != 31 || f.Hint.Empty() {
			t.Errorf("%s: %+v", want, f)
		}
	}
}

func TestWithoutAnyTieOnlyRecordingTimesPlace(t *testing.T) {
	s := sheetOf(t)
	line := resolved(t, Input{Sheet: s, Recording: recordingOf(60), Log: logOf(s,
		"time=10:05:00.0 & at=3 m", "video=5.0 & at=2 m", "at=4 m", "what=roots")})
	if len(line.Observations) != 1 || line.Observations[0].Row != 2 || line.Observations[0].TrueTime != nil {
		t.Errorf("placed %+v", line.Observations)
	}
	for i, want := range []string{"nothing ties", "no readings of the counter", "no time, no recording time and no distance"} {
		if !strings.Contains(line.Unplaced[i].Cause.String(), want) {
			t.Errorf("cause %q, want %q", line.Unplaced[i].Cause, want)
		}
	}
	for _, w := range line.Warnings {
		if w.Code == "row-unplaced" && w.Hint.Empty() {
			t.Errorf("no next step: %+v", w)
		}
	}
}

func TestLogsOwnDistancesPlaceNothingButAreShown(t *testing.T) {
	s := sheetOf(t, func(s *jobsheet.Sheet) { s.Distance.Zero = 0.5 })
	line := resolved(t, Input{Sheet: s, Recording: recordingOf(60), Log: logOf(s,
		"video=10.0 & at=3 m", "video=40.0 & at=9 m", "at=6 m", "video=20.0")})
	if len(line.Unplaced) != 1 || line.Unplaced[0].Row != 3 {
		t.Errorf("unplaced %+v", line.Unplaced)
	}
	if p := line.DistanceAt(timecode.VideoSeconds(25)); p.State != distance.About || p.Metres < 2.5 || p.Metres > 8.5 {
		t.Errorf("between two rows: %+v, want about", p)
	}
	if p := line.DistanceAt(timecode.VideoSeconds(50)); p.State != distance.Unread {
		t.Errorf("after the last row: %+v, want nothing", p)
	}
	o := observation(t, line, 1)
	if *o.Distance != 2.5 || o.Track != nil {
		t.Errorf("row 1: distance %v, track %v", *o.Distance, o.Track)
	}
	if o := observation(t, line, 4); o.Distance != nil {
		t.Errorf("row 4 was given a distance: %v", *o.Distance)
	}
}

func TestImpossibleRowIsNamed(t *testing.T) {
	s := sheetOf(t)
	line := resolved(t, Input{Sheet: s, Recording: recordingOf(60), Log: logOf(s,
		"video=10.0 & at=3 m", "video=12.0 & at=34 m", "video=14.0 & at=3.4 m")})
	wantWarning(t, line, "reading-impossible", "row 2: 34.0 m would need the cable to move at 15.")
	if o := observation(t, line, 2); *o.Distance != 34 {
		t.Errorf("the row's own distance became %v", *o.Distance)
	}
}

func TestTwoAtOnceKeepTheLogsOrder(t *testing.T) {
	s := sheetOf(t, startsAt("10:00:00.0"))
	line := resolved(t, Input{Sheet: s, Recording: recordingOf(60), Log: logOf(s,
		"time=10:00:30.0 & what=roots", "time=10:00:10.0 & what=crack", "time=10:00:30.0 & what=belly", "video=30.0 & what=hole")})
	var order []int
	for _, o := range line.Observations {
		order = append(order, o.Row)
	}
	if fmt.Sprint(order) != "[2 1 3 4]" {
		t.Errorf("order of rows %v", order)
	}
}

func TestStretchKeepsItsEnd(t *testing.T) {
	s := sheetOf(t, startsAt("10:00:00.0"))
	in := Input{Sheet: s, Recording: recordingOf(100), Log: logOf(s, "time=10:00:35.0 & at=5 m & to=7 m", "time=10:00:40.0 & at=6 m & to=20 m")}
	line := resolved(t, in)
	if o := observation(t, line, 1); o.VideoEnd != nil || *o.DistanceTo != 7 {
		t.Errorf("without a track: end %v at %v", o.VideoEnd, *o.DistanceTo)
	}
	in.Readings = readingsOf(100, pushOf)
	line = resolved(t, in)
	o := observation(t, line, 1)
	if o.VideoEnd == nil {
		t.Fatal("the track shows 7 m, but the stretch has no end")
	}
	near(t, "the stretch's end", *o.VideoEnd, 45, time.Second)
	if o := observation(t, line, 2); o.VideoEnd != nil {
		t.Errorf("the track never shows 20 m, but the stretch ends at %v", *o.VideoEnd)
	}
}

func TestOutsideWhatIsShown(t *testing.T) {
	from, to := timecode.VideoSeconds(10), timecode.VideoSeconds(50)
	s := sheetOf(t, func(s *jobsheet.Sheet) { s.Recording.ShowFrom, s.Recording.ShowTo = &from, &to })
	line := resolved(t, Input{Sheet: s, Recording: recordingOf(60), Log: logOf(s, "video=5.0", "video=10.0", "video=49.9", "video=50.0")})
	for row, want := range map[int]bool{1: true, 2: false, 3: false, 4: true} {
		if o := observation(t, line, row); o.Hidden != want {
			t.Errorf("row %d hidden: %v", row, o.Hidden)
		}
	}
	wantWarning(t, line, "outside-shown", "row 1")
	if !warning(line, "outside-shown").Open() {
		t.Error("a hidden row leaves something open")
	}
	late := timecode.VideoSeconds(70)
	s.Recording.ShowFrom, s.Recording.ShowTo = &late, nil
	if f := faultOf(t, Input{Sheet: s, Recording: recordingOf(60)}); f.Column != "recording.show_from" {
		t.Errorf("nothing left to show: %+v", f)
	}
}

func TestJobWithoutLogAndLogWithoutRows(t *testing.T) {
	s := sheetOf(t, startsAt("10:02:11.0"))
	ahead := -time.Hour
	s.Log.Ahead = &ahead
	for _, in := range []Input{{Sheet: s, Recording: recordingOf(60)}, {Sheet: s, Recording: recordingOf(60), Log: logOf(s)}} {
		line := resolved(t, in)
		// Without a log nothing was judged, which leaves something open; a log without
		// rows is a normal job.
		if missing := warning(line, "log-missing"); (missing != nil) != (in.Log == nil) || missing != nil && !missing.Open() {
			t.Errorf("log %v: warning %+v", in.Log != nil, missing)
		}
		if len(line.Warnings) > 1 || in.Log != nil && len(line.Warnings) > 0 || line.Track != nil {
			t.Errorf("warnings %+v", line.Warnings)
		}
		at, ok := line.TrueTime(timecode.VideoSeconds(10))
		if !ok || at.Round(time.Second).Format(time.RFC3339) != "2026-03-02T11:02:21Z" {
			t.Errorf("true time %v, %v", at, ok)
		}
	}
	if line := resolved(t, Input{Recording: recordingOf(60)}); line.Clock != nil || line.ShowTo != timecode.VideoSeconds(60) {
		t.Errorf("a bare recording: %+v", line)
	}
}

func TestCancelledWorkStops(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	s := sheetOf(t)
	if _, err := Resolve(ctx, Input{Sheet: s, Recording: recordingOf(60), Log: logOf(s, "video=5.0")}); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v", err)
	}
}

func TestFrameAtIsTheLastOneShown(t *testing.T) {
	line := &Timeline{Recording: Recording{Frames: []timecode.Video{0, 40, 100}, End: 140}}
	for v, want := range map[timecode.Video][3]timecode.Video{
		-5: {0, 0, 40}, 0: {0, 0, 40}, 39: {0, 0, 40}, 40: {1, 40, 100}, 100: {2, 100, 140}, 500: {2, 100, 140},
	} {
		index, at, until := line.FrameAt(v)
		if timecode.Video(index) != want[0] || at != want[1] || until != want[2] {
			t.Errorf("at %d: frame %d from %d until %d, want %v", int64(v), index, int64(at), int64(until), want)
		}
	}
}

// Whatever a log holds, each row is placed or listed, in order and on a frame.
func TestNothingIsLost(t *testing.T) {
	random := rand.New(rand.NewSource(3))
	fields := []func() string{
		func() string { return fmt.Sprintf("time=10:%02d:%02d.0", random.Intn(4), random.Intn(60)) },
		func() string { return fmt.Sprintf("time=10:%02d", random.Intn(4)) },
		func() string { return fmt.Sprintf("video=%d.%d", random.Intn(130), random.Intn(10)) },
		func() string { return fmt.Sprintf("at=%d.%d m", random.Intn(12), random.Intn(10)) },
		func() string { return fmt.Sprintf("to=%d m", random.Intn(12)) },
	}
	for round := range soak.Count(90, 300) {
		s := sheetOf(t, lagOf(time.Duration(random.Intn(40))*time.Second))
		if round%3 > 0 {
			startsAt("10:00:30.0")(s)
		}
		var rows []string
		for range random.Intn(20) {
			row := "what=roots"
			for _, f := range fields {
				if random.Intn(3) == 0 {
					row += " & " + f()
				}
			}
			rows = append(rows, row)
		}
		in := Input{Sheet: s, Recording: recordingOf(60, 40), Log: logOf(s, rows...)}
		if round%2 == 0 {
			in.Readings = readingsOf(90, pushOf)
		}
		line := resolved(t, in)
		for n := 1; n <= len(rows); n++ {
			if why, ok := line.Explain(n); !ok || len(why) < 2 {
				t.Fatalf("row %d: explained by %q, %v", n, why, ok)
			}
		}
		if t.Failed() {
			t.Fatalf("rows %q", rows)
		}
	}
}
