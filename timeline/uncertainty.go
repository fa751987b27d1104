package timeline

import (
	"time"

	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// uniform95 is the half-width round at that holds 95 % of a truth spread evenly
// from … to. at lies between them, or is moved there.
func uniform95(from, to, at timecode.Video) time.Duration {
	at = min(max(at, from), to)
	short, long := at-from, to-at
	if short > long {
		short, long = long, short
	}
	// Symmetric as far as the short side goes; beyond it only the long side adds.
	both := float64(to-from) * 0.95
	if both <= 2*float64(short) {
		return time.Duration(both / 2)
	}
	return time.Duration(both - float64(short))
}

// about shows a length of time to people: 0.4 s, 12 s, 3 min.
func about(d time.Duration) words.Sentence {
	switch {
	case d < 10*time.Second:
		return words.Plain("%.1f s", d.Seconds())
	case d < 2*time.Minute:
		return words.Plain("%.0f s", d.Seconds())
	}
	return words.Plain("%.0f min", d.Minutes())
}
