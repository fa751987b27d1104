package timecode

import (
	"strings"
	"testing"
	"time"
)

func TestSpans(t *testing.T) {
	for written, want := range map[string]time.Duration{
		"-1h":        -time.Hour,
		"\u22121h":   -time.Hour,
		"+1h":        time.Hour,
		"1m35s":      95 * time.Second,
		"1 min 35 s": 95 * time.Second,
		"1m35":       95 * time.Second,
		"30s":        30 * time.Second,
		"2,5 s":      2500 * time.Millisecond,
		"2.5 s":      2500 * time.Millisecond,
		"1:35":       95 * time.Second,
		"-1:02:03":   -(time.Hour + 2*time.Minute + 3*time.Second),
		"1:02:03.25": time.Hour + 2*time.Minute + 3250*time.Millisecond,
		"1.5h":       90 * time.Minute,
		"250 ms":     250 * time.Millisecond,
		"3652 days":  3652 * 24 * time.Hour,
		"1h05":       65 * time.Minute,
		"0":          0,
		"0,1s":       100 * time.Millisecond,
	} {
		if got, err := ParseSpan(written); err != nil || got != want {
			t.Errorf("%q: %v %v, want %v", written, got, err, want)
		}
	}
	for written, want := range map[string]string{
		"30":            "write 30 s or 30 min",
		"1:75":          "seconds go from 00 to 59",
		"1:75:00":       "minutes go from 00 to 59",
		"5s 1m":         "from the longest to the shortest",
		"3 fortnights":  "not a unit of time",
		"":              "write it as",
		"--1h":          "write it as",
		"2000000000h":   "hundred years",
		"99999999999 s": "hundred years",
	} {
		if got, err := ParseSpan(written); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v %v, want a word on %q", written, got, err, want)
		}
	}
}

func TestTimesInTheRecording(t *testing.T) {
	for _, c := range []struct {
		written string
		at      Video
		half    time.Duration
		label   string
	}{
		{"5:14.2", 314_200_000_000, 50 * time.Millisecond, ""},
		{"5:14,2", 314_200_000_000, 50 * time.Millisecond, ""},
		{"1:02:03", 3723_000_000_000, 500 * time.Millisecond, ""},
		{"314.2", 314_200_000_000, 50 * time.Millisecond, ""},
		{"314", 314_000_000_000, 500 * time.Millisecond, ""},
		{"314.2 s", 314_200_000_000, 50 * time.Millisecond, ""},
		{"5m14s", 314_000_000_000, 500 * time.Millisecond, ""},
		{"4.566666667", 4_566_666_667, 0, ""},
		{"00:05:14:12", 0, 0, "00:05:14:12"},
		{"00:05:14;12", 0, 0, "00:05:14;12"},
	} {
		at, half, label, err := ParseVideo(c.written)
		if err != nil || at != c.at || half != c.half {
			t.Errorf("%q: %d ± %v %v, want %d ± %v", c.written, at, half, err, c.at, c.half)
		}
		if (label != nil) != (c.label != "") || label != nil && label.String() != c.label {
			t.Errorf("%q: label %v, want %q", c.written, label, c.label)
		}
	}
	for _, written := range []string{"", "5:61", "-5:14", "later", "25:99:99:99", "1:2:3"} {
		if at, _, _, err := ParseVideo(written); err == nil {
			t.Errorf("%q: read as %v", written, at)
		}
	}
}

func FuzzParseSpan(f *testing.F) {
	for _, s := range []string{"-1h", "1m35s", "2,5 s", "1:02:03.25", "1h05", "3652 days"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		d, err := ParseSpan(s)
		if err != nil {
			return
		}
		if d.Abs() > century {
			t.Fatalf("%q: %v", s, d)
		}
		if back, err := ParseSpan(FormatSpan(d)); err != nil || back != d {
			t.Fatalf("%q: %v, written %q, read back %v %v", s, d, FormatSpan(d), back, err)
		}
	})
}

func FuzzParseVideo(f *testing.F) {
	for _, s := range []string{"5:14.2", "1:02:03", "314.2", "00:05:14;12"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		at, half, label, err := ParseVideo(s)
		if err == nil && (at < 0 || half < 0 || label != nil && at != 0) {
			t.Fatalf("%q: %d ± %v, label %v", s, at, half, label)
		}
	})
}
