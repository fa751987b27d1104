package timecode

import (
	"strings"
	"testing"
	"time"
)

var (
	ntsc    = Rate{30000, 1001}
	ntsc60  = Rate{60000, 1001}
	film    = Rate{24000, 1001}
	pal     = Rate{25, 1}
	decimal = Rate{2997, 100} // how AVI files put 29.97
)

// Frame counts at 29.97 with dropped frames as SMPTE ST 12-1 lays them down (two
// labels dropped each minute but every tenth; 01:00:00;00 is frame 107892), checked
// with ffmpeg's drawtext and the npm package smpte-timecode 1.3.6.
func TestDroppedFramesAgainstPublishedLabels(t *testing.T) {
	for label, frame := range map[string]int64{
		"00:00:00;00": 0,
		"00:00:59;29": 1799,
		"00:01:00;02": 1800,
		"00:02:00;02": 3598,
		"00:09:59;29": 17981,
		"00:10:00;00": 17982,
		"01:00:00;00": 107892,
		"23:59:59;29": 2589407,
	} {
		for _, rate := range []Rate{ntsc, decimal} {
			parsed, err := ParseSMPTE(label)
			if err != nil {
				t.Fatal(err)
			}
			if got, err := parsed.Frame(rate); err != nil || got != frame {
				t.Errorf("%s at %v: frame %d %v, want %d", label, rate, got, err, frame)
			}
			if got := rate.Label(frame, true).String(); got != label {
				t.Errorf("frame %d at %v: %s, want %s", frame, rate, got, label)
			}
		}
	}
}

func TestEveryFrameOfADayComesBack(t *testing.T) {
	for _, c := range []struct {
		rate Rate
		drop bool
		day  int64 // frames in 24 h of labels
	}{
		{ntsc, true, 2589408}, {ntsc60, true, 5178816}, {ntsc, false, 2592000}, {pal, false, 2160000}, {film, false, 2073600},
	} {
		last := SMPTE{Frames: -1}
		for n := int64(0); n < c.day; n++ {
			label := c.rate.Label(n, c.drop)
			if back, err := label.Frame(c.rate); err != nil || back != n {
				t.Fatalf("%v: frame %d is %v, which is frame %d %v", c.rate, n, label, back, err)
			}
			if !after(label, last) {
				t.Fatalf("%v: %v follows %v", c.rate, label, last)
			}
			last = label
		}
		if first := c.rate.Label(c.day, c.drop); first != (SMPTE{Drop: c.drop}) {
			t.Errorf("%v: a day ends with %v, want zero again", c.rate, first)
		}
	}
}

func after(a, b SMPTE) bool {
	x := [4]int{a.Hours, a.Minutes, a.Seconds, a.Frames}
	y := [4]int{b.Hours, b.Minutes, b.Seconds, b.Frames}
	for i := range x {
		if x[i] != y[i] {
			return x[i] > y[i]
		}
	}
	return false
}

// Labels with dropped frames keep up with the clock: over a day they are less than
// one and a half frames from it but for the drift of 2.6 frames a day that the
// standard leaves.
func TestDroppedFramesKeepClockTime(t *testing.T) {
	for _, hour := range []int64{1, 6, 12, 23} {
		label := SMPTE{Hours: int(hour), Drop: true}
		n, err := label.Frame(ntsc)
		if err != nil {
			t.Fatal(err)
		}
		off := ntsc.FrameTime(n).Sub(Video(hour * int64(time.Hour)))
		if off.Abs() > 120*time.Millisecond {
			t.Errorf("%v is shown %v off the clock", label, off)
		}
	}
}

func TestLabelsThatNameNoFrame(t *testing.T) {
	for _, c := range []struct {
		label string
		rate  Rate
		want  string
	}{
		{"00:01:00;00", ntsc, "dropped at the start of each minute"},
		{"00:01:00;01", ntsc, "dropped at the start of each minute"},
		{"00:11:00;03", ntsc60, "dropped at the start of each minute"},
		{"00:01:00:30", ntsc, "go from 00 to 29"},
		{"00:00:00:25", pal, "go from 00 to 24"},
		{"00:00:10;00", pal, "29.97 and 59.94"},
		{"00:00:10;00", Rate{30, 1}, "29.97 and 59.94"},
		{"00:00:10:00", Rate{25, 2}, "no timecode at 12.5"},
		{"00:00:10:00", Rate{}, "no timecode at 0"},
		{"24:00:00:00", pal, "hours go from 00 to 23"},
		{"00:60:00:00", pal, "minutes go from 00 to 59"},
		{"00:00:60:00", pal, "seconds go from 00 to 59"},
		{"5:14", pal, "write it as 00:05:14:12"},
	} {
		label, err := ParseSMPTE(c.label)
		if err == nil {
			_, err = label.Frame(c.rate)
		}
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s at %v: %v, want a word on %q", c.label, c.rate, err, c.want)
		}
	}
	for _, label := range []string{"00:10:00;00", "00:20:00;01", "00:01:00;02"} {
		parsed, err := ParseSMPTE(label)
		if err == nil {
			_, err = parsed.Frame(ntsc)
		}
		if err != nil {
			t.Errorf("%s exists: %v", label, err)
		}
	}
}

func TestFrameTimesAreExact(t *testing.T) {
	for _, c := range []struct {
		rate Rate
		n    int64
		want Video
	}{
		{pal, 1, 40_000_000},
		{ntsc, 1, 33_366_667},
		{ntsc, 30000, 1001_000_000_000},
		{ntsc, 107892, 3_599_996_400_000},
		{Rate{30, 1}, 137, 4_566_666_667},
		{Rate{0, 1}, 10, 0},
		{Rate{90000, 1}, 1 << 40, Video(12_216_795_864_177_778)},
	} {
		if got := c.rate.FrameTime(c.n); got != c.want {
			t.Errorf("frame %d at %v: %d, want %d", c.n, c.rate, got, c.want)
		}
	}
}

func FuzzParseSMPTE(f *testing.F) {
	f.Add("00:05:14:12", 30000, 1001)
	f.Add("00:01:00;00", 30000, 1001)
	f.Add("23:59:59:24", 25, 1)
	f.Fuzz(func(t *testing.T, s string, num, den int) {
		label, err := ParseSMPTE(s)
		if err != nil {
			return
		}
		rate := Rate{num, den}
		n, err := label.Frame(rate)
		if err != nil {
			return
		}
		if back := rate.Label(n, label.Drop); back != label {
			t.Fatalf("%s at %v is frame %d, which is %v", s, rate, n, back)
		}
	})
}
