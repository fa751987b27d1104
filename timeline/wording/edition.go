package wording

import (
	"time"

	"pushcue/timeline/words"
)

// Edition says which edition of a handover this is, of which day, and which one it replaces,
// that left the house on another. A zero day isn't known, and replaces is 0 for the first.
func Edition(l *words.Language, number int, day time.Time, replaces int, left time.Time) string {
	text := l.Say("edition", number)
	if !day.IsZero() {
		text = l.Say("edition-of", number, l.Date(day))
	}
	switch {
	case replaces == 0:
	case left.IsZero():
		text += ", " + l.Say("edition-replaces", replaces)
	default:
		text += ", " + l.Say("edition-replaces-left", replaces, l.Date(left))
	}
	return text
}
