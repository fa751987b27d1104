package sighting

import (
	"fmt"
	"testing"
	"time"

	"pushcue/frames/counter"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
)

// clockSamples are looks at a clock that showed from at the part's first frame.
func clockSamples(start timecode.Video, from time.Time, format string) (samples []counter.Sample) {
	for i := range 100 {
		after := time.Duration(i) * 200 * time.Millisecond
		samples = append(samples, counter.Sample{At: start.Add(after), Text: from.Add(after).Format(format), State: counter.AsShown})
	}
	return samples
}

func TestClockOnThePictureTellsWhenAPartBegan(t *testing.T) {
	from := time.Date(2026, 4, 14, 9, 1, 31, 370e6, time.UTC)
	sheet := jobsheet.Default()
	sheet.Job.Date.Year, sheet.Job.Date.Month, sheet.Job.Date.Day = 2026, 4, 3
	start := timecode.VideoSeconds(45)
	for _, c := range []struct {
		format string
		from   time.Time
		dated  bool
	}{
		{"02.01.2006 15:04:05", from, true},
		{"2006-01-02 15:04:05", from, true},
		{"01/02/06 15:04:05", from, true},
		{"15:04:05", from, false},
		{"02/01/2006 15:04:05", time.Date(2026, 3, 5, 9, 1, 31, 370e6, time.UTC), false}, // 5 March or 3 May: nothing tells
	} {
		samples := clockSamples(start, c.from, c.format)
		for i := 0; i < len(samples); i += 10 {
			samples[i].Text = ""
		}
		samples[33].Text = samples[3].Text
		samples[55].Text = "99:99:99"
		got := shownClock(samples, start, sheet)
		if got == nil {
			t.Errorf("%s: no clock was told", c.format)
			continue
		}
		want := c.from
		if !c.dated {
			want = time.Date(1, 1, 1, want.Hour(), want.Minute(), want.Second(), want.Nanosecond(), time.UTC)
		}
		if off := got.At.Sub(want); got.Dated != c.dated || off.Abs() > 250*time.Millisecond {
			t.Errorf("%s: %v, dated %v, want %v", c.format, got.At, got.Dated, want)
		}
	}
}

func TestWhatIsNoClockTellsNothing(t *testing.T) {
	sheet := jobsheet.Default()
	start := timecode.VideoSeconds(45)
	zero := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	var stopped, counting []counter.Sample
	for i, s := range clockSamples(start, zero.Add(9*time.Hour), "15:04:05") {
		s.Text = "09:00:00"
		stopped = append(stopped, s)
		s.Text = fmt.Sprintf("%d.%d", i/10, i%10)
		counting = append(counting, s)
	}
	for name, samples := range map[string][]counter.Sample{
		"time since the part began":      clockSamples(start, zero, "15:04:05"),
		"time since the recording began": clockSamples(start, zero.Add(45*time.Second), "15:04:05"),
		"a clock that stands":            stopped,
		"a counter":                      counting,
		"a few looks":                    clockSamples(start, zero.Add(9*time.Hour), "15:04:05")[:7],
	} {
		if got := shownClock(samples, start, sheet); got != nil {
			t.Errorf("%s: taken for a clock that showed %v", name, got.At)
		}
	}
}

func FuzzParseShown(f *testing.F) {
	for _, s := range []string{"14.04.2026 09:01:31", "2026-04-14 9.01.31", "00:00:00", "99/99/9999 24:60:61", "1:2", "12345678901234567890:00:00"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		at, dated, ok := parseShown(s, jobsheet.Default())
		if !ok && (dated || !at.IsZero()) || ok && !dated && at.Year() != 1 {
			t.Errorf("%q: %v, dated %v, read %v", s, at, dated, ok)
		}
	})
}
