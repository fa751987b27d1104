package timecode

import (
	"testing"
	"time"
)

func TestVideoTimesForPeople(t *testing.T) {
	for _, c := range []struct {
		v        Video
		decimals int
		want     string
	}{
		{0, 1, "0:00.0"},
		{VideoSeconds(314.2), 1, "5:14.2"},
		{VideoSeconds(3723.4), 1, "1:02:03.4"},
		{VideoSeconds(59.96), 1, "1:00.0"},
		{VideoSeconds(3599.95), 1, "1:00:00.0"},
		{VideoSeconds(59.94), 1, "0:59.9"},
		{VideoSeconds(59.5), 0, "1:00"},
		{VideoSeconds(-1.25), 1, "-0:01.3"},
		{VideoSeconds(-0.01), 1, "0:00.0"},
		{1_999_999_999, 3, "0:02.000"},
	} {
		if got := c.v.Format(c.decimals); got != c.want {
			t.Errorf("%d with %d decimals: %s, want %s", c.v, c.decimals, got, c.want)
		}
	}
	if got := VideoSeconds(314.2).String(); got != "5:14.2" {
		t.Errorf("String: %s", got)
	}
}

func TestRoundingIsToTheNearest(t *testing.T) {
	for _, c := range []struct {
		v              Video
		millis, centis int64
	}{
		{1_999_999_999, 2000, 200},
		{1_999_499_999, 1999, 200},
		{1_999_500_000, 2000, 200},
		{1_994_999_999, 1995, 199},
		{-1_500_000, -2, 0},
		{33_366_667, 33, 3},
	} {
		if c.v.Millis() != c.millis || c.v.Centis() != c.centis {
			t.Errorf("%d: %d ms %d cs, want %d and %d", c.v, c.v.Millis(), c.v.Centis(), c.millis, c.centis)
		}
	}
}

func TestTrueTimesCarryTheirOffset(t *testing.T) {
	lisbon, err := time.LoadLocation("Europe/Lisbon")
	if err != nil {
		t.Fatal(err)
	}
	for at, want := range map[time.Time]string{
		time.Date(2026, 3, 2, 10, 7, 31, 500_000_000, time.UTC): "2026-03-02T10:07:31.500+00:00",
		time.Date(2026, 7, 2, 9, 7, 31, 999_600_000, time.UTC):  "2026-07-02T10:07:32.000+01:00",
	} {
		if got := FormatTrue(at.In(lisbon)); got != want {
			t.Errorf("%s, want %s", got, want)
		}
		if back, err := time.Parse(time.RFC3339, want); err != nil || back.Sub(at).Abs() > time.Millisecond {
			t.Errorf("%s isn't RFC 3339 for %v: %v", want, at, err)
		}
	}
}
