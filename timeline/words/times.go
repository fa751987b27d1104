package words

import "strings"

// timeWords are the words of a language in times of day, lengths of time and dates.
type timeWords struct {
	AM, PM             []string            // behind a time before, or from, noon; 12 am is midnight
	Morning, Afternoon []string            // the same in words; 12 o'clock in the morning isn't read
	Before             []string            // before a time of day: "at 10:07"
	Behind             []string            // behind a time of day: "10:07 hrs"
	Mark               []string            // between hours and minutes: "10h07"
	Of                 []string            // before a date's month or year: "2 of March"
	Ordinal            []string            // behind a date's day: "2nd"
	Units              map[string][]string // of time: d, h, m, s, ms
	Zones              map[string]int      // letters of time zones with one meaning, in minutes east of UTC
}

// A TimeWord is what a word behind a time of day means.
type TimeWord string

const (
	NoTimeWord TimeWord = ""
	AM         TimeWord = "am"
	PM         TimeWord = "pm"
	Morning    TimeWord = "morning"
	Afternoon  TimeWord = "afternoon"
	TimeOfDay  TimeWord = "time of day"
)

func (x *lookup) addTimes(t *timeWords) {
	for meaning, all := range map[TimeWord][]string{AM: t.AM, PM: t.PM, Morning: t.Morning, Afternoon: t.Afternoon, TimeOfDay: t.Behind} {
		for _, w := range all {
			x.add(timeWord, string(meaning), unspaced(w))
		}
	}
	x.add(timeBefore, "", t.Before...)
	x.add(timeMark, "", t.Mark...)
	x.add(dateOf, "", t.Of...)
	x.add(dateOrdinal, "", t.Ordinal...)
	x.addEach(timeUnit, t.Units)
	for _, symbol := range []string{"d", "h", "m", "s", "ms"} {
		x.add(timeUnit, symbol, symbol)
	}
	for letters, minutes := range t.Zones {
		x.zones[key(letters)] = minutes * 60
	}
}

// unspaced is text without blanks, so that "p. m." and "pm" are the same.
func unspaced(text string) string { return strings.ReplaceAll(fold(text), " ", "") }

// FindTimeWord returns what text behind a time of day means in any of the languages.
func FindTimeWord(text string) TimeWord {
	w, _ := index().find(timeWord, unspaced(text))
	return TimeWord(w)
}

// IsBeforeTime reports whether text is a word before a time of day ("at", "um").
func IsBeforeTime(text string) bool {
	return index().has(timeBefore, text)
}

// IsHourMark reports whether text stands between hours and minutes ("10h07").
func IsHourMark(text string) bool {
	return index().has(timeMark, text)
}

// FindTimeUnit returns the unit of time (d, h, m, s, ms) that text names in any of the
// languages; "" if it is none.
func FindTimeUnit(text string) string {
	u, _ := index().find(timeUnit, text)
	return u
}

// IsDateOf reports whether text is a word before a date's month or year ("of", "de").
func IsDateOf(text string) bool {
	return index().has(dateOf, text)
}

// IsOrdinal reports whether text is what stands behind the day of a date ("nd", "er").
func IsOrdinal(text string) bool {
	return index().has(dateOrdinal, text)
}

// FindZone returns how many seconds east of UTC a zone's letters mean; false for letters
// that aren't known or have several meanings.
func FindZone(letters string) (seconds int, found bool) {
	seconds, found = index().zones[key(letters)]
	return seconds, found
}
