package clock

import (
	"math"
	"time"

	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
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
func saySpan(d time.Duration) words.Sentence {
	s := math.Abs(d.Seconds())
	switch {
	case s < 0.995:
		return words.Plain("%.2f s", s)
	case s < 59.95:
		return words.Plain("%v s", math.Round(s*10)/10)
	case s < 3599.5:
		return twoUnits(s, "min", "s")
	default:
		return twoUnits(s/60, "h", "min")
	}
}

// twoUnits is n of the smaller of two units, sixty of which make the larger.
func twoUnits(n float64, large, small string) words.Sentence {
	whole := int64(math.Round(n))
	if whole%60 == 0 {
		return words.Plain("%d %s", whole/60, large)
	}
	return words.Plain("%d %s %d %s", whole/60, large, whole%60, small)
}

// partName names a part as the user knows it.
func partName(parts []Span, i int) words.Sentence {
	if parts[i].Name != "" {
		return words.Plain("%s", parts[i].Name)
	}
	return words.Tell("part %d", i+1)
}
