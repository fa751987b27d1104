package fieldlog

import (
	"regexp"
	"strings"

	"pushcue/timeline/distance"
	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

var (
	commaDecimal = regexp.MustCompile(`\d,(?:\d{1,2}|\d{4,})(?:\D|$)|\d\.\d{3},\d|(?:^|\D)0,\d`)
	pointDecimal = regexp.MustCompile(`\d\.(?:\d{1,2}|\d{4,})(?:\D|$)|\d,\d{3}\.\d|(?:^|\D)0\.\d`)
	dashes       = regexp.MustCompile(`\s*(?:[-‐-―−]|\.{2,}|…|->|→)\s*`)
)

// decimalOf is the decimal mark that the log's own cells tell; 0 where none does or
// they disagree.
func decimalOf(texts func(yield func(cell) bool)) rune {
	comma, point := false, false
	for c := range texts {
		if c.number != "" || c.iso != "" {
			continue
		}
		if _, _, isStretch := ends(trim(c.text)); strings.Count(c.text, ".") > 1 && !isStretch {
			continue // a date, not a number
		}
		comma = comma || commaDecimal.MatchString(c.text)
		point = point || pointDecimal.MatchString(c.text)
	}
	switch {
	case comma && !point:
		return ','
	case point && !comma:
		return '.'
	}
	return 0
}

// lengths reads a distance cell: one length, or the two ends of a stretch ("12 to
// 15", "12,4–15 m"). Each has several readings where its decimal mark is open.
func lengths(c cell, o distance.ParseOptions) (from, to []distance.Length, err error) {
	if c.number != "" { // a sheet's number has no marks to read
		o.Decimal = '.'
		from, err = distance.Parse(strings.TrimSpace(c.number+" "+c.unit), o)
		for i := range from {
			from[i].Text = c.text
		}
		return from, nil, err
	}
	text := trim(c.text)
	from, err = distance.Parse(text, o)
	if err == nil {
		return from, nil, nil
	}
	first, second, found := ends(text)
	if !found {
		return nil, nil, err
	}
	if to, err = distance.Parse(second, o); err != nil {
		return nil, nil, err
	}
	o.Unit = to[0].As // "12 to 15 cm": both are centimetres
	if from, err = distance.Parse(first, o); err != nil {
		return nil, nil, err
	}
	return from, to, nil
}

// ends parts the two ends of a stretch, at a word or a dash between them. A dash
// that belongs to a length (40'-6") isn't one.
func ends(text string) (first, second string, found bool) {
	fields := strings.Fields(text)
	for i := 1; i < len(fields)-1; i++ {
		if words.IsTo(fields[i]) {
			lead := fields[:i]
			if len(lead) > 1 && words.IsLead(lead[0]) {
				lead = lead[1:]
			}
			return strings.Join(lead, " "), strings.Join(fields[i+1:], " "), true
		}
	}
	for _, at := range dashes.FindAllStringIndex(text, -1) {
		first, second = text[:at[0]], text[at[1]:]
		if first != "" && second != "" && !strings.HasSuffix(first, "'") && !strings.HasSuffix(first, "′") {
			return first, second, true
		}
	}
	return "", "", false
}

// reason is what err says is wrong with a cell, and what to do.
func reason(err error) (text, hint words.Sentence) {
	if l, ok := fault.In(err); ok && len(l) > 0 {
		return l[0].Text, l[0].Hint
	}
	return words.Of(err), words.Sentence{}
}
