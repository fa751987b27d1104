package timecode

import (
	"fmt"
	"strings"
	"time"
)

// String writes v for people, to the nearest tenth of a second: 1:02:03.4, 5:14.2.
func (v Video) String() string { return v.Format(1) }

// Marked is String with the decimal mark of a language.
func (v Video) Marked(mark rune) string { return strings.Replace(v.String(), ".", string(mark), 1) }

// Format writes v as h:mm:ss or m:ss with 0 to 9 decimals, to the nearest.
func (v Video) Format(decimals int) string {
	decimals = min(max(decimals, 0), 9)
	step := int64(time.Second)
	for range decimals {
		step /= 10
	}
	n := roundTo(int64(v), step)
	sign := ""
	if n < 0 {
		sign, n = "-", -n
	}
	perSecond := int64(time.Second) / step
	s, fraction := n/perSecond, n%perSecond
	text := fmt.Sprintf("%d:%02d", s/60, s%60)
	if s >= 3600 {
		text = fmt.Sprintf("%d:%02d:%02d", s/3600, s/60%60, s%60)
	}
	if decimals > 0 {
		text += fmt.Sprintf(".%0*d", decimals, fraction)
	}
	return sign + text
}

// FormatTrue writes a true time as RFC 3339 with its offset, to the nearest
// millisecond: 2026-03-02T10:07:31.500+00:00.
func FormatTrue(t time.Time) string {
	return t.Round(time.Millisecond).Format("2006-01-02T15:04:05.000-07:00")
}

// FormatSpan writes a length of time the way a job sheet does: -1h, 1m35s, 2.5s.
// ParseSpan reads it back unchanged.
func FormatSpan(d time.Duration) string {
	sign := ""
	if d < 0 {
		sign, d = "-", -d
	}
	var text string
	if h := d / time.Hour; h > 0 {
		text = fmt.Sprintf("%dh", h)
	}
	if m := d / time.Minute % 60; m > 0 {
		text += fmt.Sprintf("%dm", m)
	}
	if s := d % time.Minute; s > 0 || text == "" {
		seconds := fmt.Sprintf("%d.%09d", s/time.Second, s%time.Second)
		text += strings.TrimRight(strings.TrimRight(seconds, "0"), ".") + "s"
	}
	return sign + text
}
