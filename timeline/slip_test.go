package timeline

import (
	"strings"
	"testing"
	"time"
)

// A slip of the pen is proposed where the track shows what may have been meant, and
// never applied.
func TestSlipOfThePenIsProposed(t *testing.T) {
	for written, proposed := range map[string]string{"at=0.80 m": "8.0 m", "at=18.0 m": "8.0 m", "at=14.6 m": ""} {
		s := sheetOf(t, startsAt("10:00:00.0"), lagOf(5*time.Second))
		line := resolved(t, Input{Sheet: s, Recording: recordingOf(100), Log: logOf(s,
			"time=10:00:56.0 & "+written, "time=10:00:26.0 & at=4.0 m", "time=10:01:06.0 & at=7.0 m", "time=10:01:16.0 & at=5.0 m"), Readings: readingsOf(100, pushOf)})
		w := warning(line, "distance-disagrees")
		if w == nil {
			t.Fatalf("%s: %+v %+v", written, line.Warnings, line.Observations[0])
		}
		if hint := w.Hint.String(); strings.Contains(hint, "slip of the pen") != (proposed != "") || !strings.Contains(hint, proposed) {
			t.Errorf("%s: %q, want %q", written, hint, proposed)
		}
		if o := observation(t, line, 1); *o.Distance != o.Entry.Distance.Metres {
			t.Errorf("%s became %v", written, *o.Distance)
		}
	}
}

func TestOneSlip(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want bool
	}{
		{"124", "1240", true}, {"124", "214", true}, {"124", "24", true}, {"124", "224", true}, {"124", "421", false},
		{"124", "124", true}, {"124", "345", false}, {"90", "20", false}, {"1234", "12", false},
	} {
		if got := oneSlip(c.a, c.b); got != c.want {
			t.Errorf("%s and %s: %v", c.a, c.b, got)
		}
	}
}
