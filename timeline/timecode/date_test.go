package timecode

import (
	"testing"
	"time"
)

// The changes are those of the IANA time zone database for 2026: Lisbon goes forward
// on 29 March at 01:00 UTC and back on 25 October at 01:00 UTC; Chicago forward on
// 8 March at 08:00 UTC and back on 1 November at 07:00 UTC.
func TestBothSidesOfASummerTimeChange(t *testing.T) {
	for _, c := range []struct {
		zone  string
		day   Date
		since time.Duration
		want  []string
	}{
		{"Europe/Lisbon", Date{2026, 3, 2}, 10 * time.Hour, []string{"2026-03-02T10:00:00Z"}},
		{"Europe/Lisbon", Date{2026, 7, 2}, 10 * time.Hour, []string{"2026-07-02T09:00:00Z"}},
		{"Europe/Lisbon", Date{2026, 3, 29}, 90 * time.Minute, nil},
		{"Europe/Lisbon", Date{2026, 3, 29}, 59 * time.Minute, []string{"2026-03-29T00:59:00Z"}},
		{"Europe/Lisbon", Date{2026, 3, 29}, 2 * time.Hour, []string{"2026-03-29T01:00:00Z"}},
		{"Europe/Lisbon", Date{2026, 10, 25}, 90 * time.Minute, []string{"2026-10-25T00:30:00Z", "2026-10-25T01:30:00Z"}},
		{"America/Chicago", Date{2026, 11, 1}, 90 * time.Minute, []string{"2026-11-01T06:30:00Z", "2026-11-01T07:30:00Z"}},
		{"America/Chicago", Date{2026, 3, 8}, 150 * time.Minute, nil},
		{"Asia/Kathmandu", Date{2026, 3, 2}, 0, []string{"2026-03-01T18:15:00Z"}},
		{"Europe/Lisbon", Date{2026, 3, 2}, 24 * time.Hour, []string{"2026-03-03T00:00:00Z"}},
	} {
		zone, err := time.LoadLocation(c.zone)
		if err != nil {
			t.Fatal(err)
		}
		got := c.day.At(c.since, zone)
		if len(got) != len(c.want) {
			t.Errorf("%s %v %v: %v, want %v", c.zone, c.day, c.since, got, c.want)
			continue
		}
		for i := range got {
			if s := got[i].UTC().Format(time.RFC3339); s != c.want[i] {
				t.Errorf("%s %v %v: %s, want %s", c.zone, c.day, c.since, s, c.want[i])
			}
		}
	}
}

func TestDates(t *testing.T) {
	for written, want := range map[string][]Date{
		"2026-03-02":     {{2026, 3, 2}},
		"2.3.2026":       {{2026, 3, 2}},
		"02/03/2026":     {{2026, 3, 2}, {2026, 2, 3}},
		"31/12/99":       {{1999, 12, 31}},
		"March 2, 2026":  {{2026, 3, 2}},
		"2 août 2026":    {{2026, 8, 2}},
		"2 dic. 2026":    {{2026, 12, 2}},
		"2. Januar 2026": {{2026, 1, 2}},
		"20260302":       {{2026, 3, 2}},
	} {
		got, err := ParseDate(written, "")
		if err != nil || len(got) != len(want) {
			t.Errorf("%q: %v %v, want %v", written, got, err, want)
			continue
		}
		for i := range got {
			if got[i] != want[i] {
				t.Errorf("%q: %v, want %v", written, got, want)
			}
		}
	}
}
