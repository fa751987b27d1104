package clock

import (
	"fmt"
	"math"
	"strings"
	"time"

	"pushcue/timeline/timecode"
)

// sayLog writes a log time for people: 10:31:04, or as elapsed without a zone.
func (o Options) sayLog(l timecode.Log) string { return o.sayLogTo(l, time.Second) }

// sayLogTo is sayLog to the nearest step: a tenth of a second or a whole one.
func (o Options) sayLogTo(l timecode.Log, step time.Duration) string {
	layout, decimals := "15:04:05", 0
	if step < time.Second {
		layout, decimals = "15:04:05.0", 1
	}
	const elapsed = 1000 * 24 * time.Hour // no log counts that long; a date does
	switch zone := o.Zone; {
	case zone == nil && l.Seconds() < elapsed.Seconds():
		return timecode.Video(l).Format(decimals)
	case zone == nil:
		return l.Time(time.UTC).Round(step).Format(layout)
	default:
		return l.Time(zone).Round(step).Format(layout)
	}
}

// worth is the step to which a time of ± half is worth telling.
func worth(half time.Duration) time.Duration {
	if half < 500*time.Millisecond {
		return 100 * time.Millisecond
	}
	return time.Second
}

// saySpan writes a length of time for people, as exactly as it is worth: 0.04 s,
// 12.3 s, 1 min 35 s, 2 h 5 min.
func saySpan(d time.Duration) string {
	s := math.Abs(d.Seconds())
	switch {
	case s < 0.995:
		return fmt.Sprintf("%.2f s", s)
	case s < 59.95:
		return strings.TrimSuffix(fmt.Sprintf("%.1f", s), ".0") + " s"
	case s < 3599.5:
		n := int64(math.Round(s))
		return unzero(fmt.Sprintf("%d min %d s", n/60, n%60), " 0 s")
	default:
		n := int64(math.Round(s / 60))
		return unzero(fmt.Sprintf("%d h %d min", n/60, n%60), " 0 min")
	}
}

func unzero(text, end string) string { return strings.TrimSuffix(text, end) }

// partName names a part as the user knows it.
func partName(parts []Span, i int) string {
	if parts[i].Name != "" {
		return parts[i].Name
	}
	return fmt.Sprintf("part %d", i+1)
}
