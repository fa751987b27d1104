package timecode

import (
	"regexp"

	"pushcue/timeline/words"
)

var (
	offsetForm  = regexp.MustCompile(`^(.*\d(?: ?[ap]\.? ?m\.?)?) ?(?:utc|gmt)? ?([+-])(\d{1,2}):?(\d{2})?$`)
	lettersForm = regexp.MustCompile(`^(.*\d(?: ?[ap]\.? ?m\.?)?) ?\(?(z|ut|utc|gmt|[a-z]{2,3}t|mes?z)\)?$`)
	dateTail    = regexp.MustCompile(`\d[-/.]\d{1,2}[-/.]?\d*$|-\d{2,4}$`)
)

// letters are the zones' letters with one meaning, in seconds east of UTC. The
// American ones are those of RFC 5322 section 4.3; the European ones are common
// practice, no published source. Letters with several meanings (BST, IST) are left
// out on purpose.
var letters = map[string]int{
	"z": 0, "ut": 0, "utc": 0, "gmt": 0,
	"est": -5 * 3600, "edt": -4 * 3600, "cst": -6 * 3600, "cdt": -5 * 3600,
	"mst": -7 * 3600, "mdt": -6 * 3600, "pst": -8 * 3600, "pdt": -7 * 3600,
	"wet": 0, "west": 3600, "cet": 3600, "cest": 7200, "mez": 3600, "mesz": 7200,
	"eet": 7200, "eest": 10800,
}

// cutZone takes an offset or a zone's letters off the end of a time.
func cutZone(body string) (rest string, offset *int, err error) {
	if m := lettersForm.FindStringSubmatch(body); m != nil {
		seconds, known := letters[m[2]]
		if !known {
			return "", nil, words.Errorf("the zone %s has no one meaning: write the offset, as in +01:00", words.Quoted(m[2]))
		}
		return m[1], &seconds, nil
	}
	m := offsetForm.FindStringSubmatch(body)
	if m == nil || isDateTail(body, m) {
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
	return m[2] == "-" && dateTail.MatchString(body) && !clockTail.MatchString(m[1])
}

var clockTail = regexp.MustCompile(`(?:\d:\d{2}(?::\d{2})?(?:[.,]\d+)?|t\d{4,6}|[ap]\.? ?m\.?)$`)
