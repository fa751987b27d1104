package timeline

import (
	"strings"
	"testing"
	"time"

	"pushcue/timeline/words"
)

func TestRecordersClockOnThePictureComesBeforeTheFilesTimes(t *testing.T) {
	s := sheetOf(t)
	rec := recordingOf(60, 60)
	// Both files say the wrong thing: when they were closed, in another zone.
	rec.Parts[0].Began = time.Date(2026, 3, 2, 12, 1, 0, 0, time.UTC)
	rec.Parts[1].Began = time.Date(2026, 3, 2, 12, 3, 0, 0, time.UTC)
	rec.Parts[0].Shown = &Shown{At: time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC), Dated: true}
	rec.Parts[1].Shown = &Shown{At: time.Date(1, 1, 1, 9, 2, 0, 0, time.UTC)}
	hour := time.Hour
	s.Recording.Ahead = &hour
	*s.Recording.Ahead = -time.Hour
	line := resolved(t, Input{Sheet: s, Recording: rec, Log: logOf(s, "time=10:00:20.0", "time=10:02:30.0")})
	near(t, "first part", observation(t, line, 1).Video, 20, 100*time.Millisecond)
	near(t, "second part", observation(t, line, 2).Video, 90, 100*time.Millisecond)
	if o := observation(t, line, 1); o.Basis != ByFileTime || !strings.Contains(words.Join(o.Why, words.Comma).String(), "as the picture shows it") {
		t.Errorf("by %s because %q", o.Basis, o.Why)
	}
	if why, _ := line.Explain(1); !strings.Contains(words.Join(why, words.Comma).String(), "by the recorder's clock as the picture shows it") {
		t.Errorf("explained as %q", why)
	}
	wantWarning(t, line, "clock-weak", "as the picture shows it")
}

func TestRecordersClockOfAnotherDayIsLeftOut(t *testing.T) {
	s := sheetOf(t)
	rec := recordingOf(60)
	rec.Parts[0].Shown = &Shown{At: time.Date(2011, 1, 1, 0, 0, 13, 0, time.UTC), Dated: true}
	line := resolved(t, Input{Sheet: s, Recording: rec, Log: logOf(s, "time=10:00:20.0")})
	wantWarning(t, line, "filetime-unusable", "2011-01-01")
	if line.Clock != nil {
		t.Error("tied by a clock that was never set")
	}
}
