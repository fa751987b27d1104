package timecode

import (
	"regexp"

	"pushcue/timeline/words"
)

var (
	offsetForm  = regexp.MustCompile(`^(.*\d[^\d]*?) ?(?:utc|gmt)? ?([+-])(\d{1,2}):?(\d{2})?$`)
	lettersForm = regexp.MustCompile(`^(.*\d[^\d]*?) ?\(?(\pL{1,5})\)?$`)
	zoneLike    = regexp.MustCompile(`^[a-z]{2,3}t$`) // most letters of zones end so
	dateTail    = regexp.MustCompile(`\d[-/.]\d{1,2}[-/.]?\d*$|-\d{2,4}$`)
)

// cutZone takes an offset or a zone's letters off the end of a time.
func cutZone(body string) (rest string, offset *int, err error) {
	if m := lettersForm.FindStringSubmatch(body); m != nil && endsAsTime(m[1]) {
		seconds, known := words.FindZone(m[2])
		switch {
		case known:
			return m[1], &seconds, nil
		case zoneLike.MatchString(m[2]) && words.FindTimeWord(m[2]) == words.NoTimeWord && words.FindTimeUnit(m[2]) == "":
			return "", nil, words.Errorf("the zone %s has no one meaning: write the offset, as in +01:00", words.Quoted(m[2]))
		}
	}
	m := offsetForm.FindStringSubmatch(body)
	if m == nil || !endsAsTime(m[1]) || isDateTail(body, m) {
		return body, nil, nil
	}
	hours, minutes := atoi(m[3]), atoi(m[4])
	if hours > 14 || minutes > 59 {
		return "", nil, words.Errorf("not an offset from UTC: they go from -12:00 to +14:00")
	}
	seconds := hours*3600 + minutes*60
	if m[2] == "-" {
		seconds = -seconds
	}
	return m[1], &seconds, nil
}

// isDateTail tells the dash of 10:07 02-03-2026 from that of 10:07-03:00.
func isDateTail(body string, m []string) bool {
	return m[2] == "-" && dateTail.MatchString(body) && !clockTail.MatchString(m[1]) && !halfDayAtEnd(m[1])
}

var clockTail = regexp.MustCompile(`(?:\d:\d{2}(?::\d{2})?(?:[.,]\d+)?|t\d{4,6})$`)

// endsAsTime reports whether text ends with a number, or with a half of the day behind one.
func endsAsTime(text string) bool {
	return text[len(text)-1] <= '9' && text[len(text)-1] >= '0' || halfDayAtEnd(text)
}

func halfDayAtEnd(text string) bool {
	_, half, _ := cutTimeWords(text)
	return half != words.NoTimeWord
}
