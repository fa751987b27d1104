package fieldlog

import (
	"regexp"
	"strconv"
	"strings"

	"pushcue/timeline/words"
)

var clockToken = regexp.MustCompile(`^(?:(\d{1,2})(?:(?: ?h ?|:)(\d{2})(?::00)?|[.,](\d+))?|(\p{L}[\p{L}']*)|(\.\.+|…|->|→|[-‐-―−~/])|[.,()]|([^\p{L}\d\s]))`)

var apostrophes = strings.NewReplacer("’", "'", "´", "'", "`", "'")

// ParseClockSpan reads a clock position or span: "3", "9-3", "9–3", "3 o'clock",
// "03:00", "12/6", "09 to 03", "de 9 h à 3 h", "3:30", "crown". Hours go from 1 to
// 12 in steps of a half, clockwise. The error says what is wrong, in one clause.
func ParseClockSpan(s string) (ClockSpan, error) {
	text := strings.ToLower(apostrophes.Replace(trim(s)))
	if len(text) > 60 {
		return ClockSpan{}, errNoClock
	}
	if at := words.FindWall(text); at != 0 {
		return ClockSpan{From: at, To: at, Text: s}, nil
	}
	hours, links, err := clockTokens(text)
	switch {
	case err != nil:
		return ClockSpan{}, err
	case len(hours) == 1 && links == 0:
		return ClockSpan{From: hours[0], To: hours[0], Text: s}, nil
	case len(hours) == 2 && links == 1 && hours[0] == hours[1]: // all round
		return ClockSpan{From: wrapHour(hours[0] + 0.5), To: hours[1], Text: s}, nil
	case len(hours) == 2 && links == 1:
		return ClockSpan{From: hours[0], To: hours[1], Text: s}, nil
	}
	return ClockSpan{}, errNoClock
}

var errNoClock = words.Errorf("this isn't a clock position")

// clockTokens collects the hours, and counts the words and dashes between them.
func clockTokens(text string) (hours []float64, links int, err error) {
	adjacent := false
	for text = strings.TrimSpace(text); text != ""; text = strings.TrimLeft(text, " \t\u00a0\u202f") {
		m := clockToken.FindStringSubmatch(text)
		if m == nil || m[6] != "" {
			return nil, 0, errNoClock
		}
		text = text[len(m[0]):]
		switch {
		case m[1] != "":
			h, err := clockHour(m[1], m[2], m[3])
			if err != nil {
				return nil, 0, err
			}
			if adjacent || len(hours) > links || len(hours) == 2 {
				return nil, 0, errNoClock
			}
			hours = append(hours, h)
		case m[5] != "" || m[4] != "" && len(hours) == 1 && links == 0 && words.IsTo(m[4]):
			if len(hours) != 1 || links != 0 {
				return nil, 0, errNoClock
			}
			links++
		case m[4] != "":
			if !words.IsClockFiller(m[4]) && !words.IsTo(m[4]) {
				if at := words.FindWall(m[4]); at != 0 && len(hours) == links {
					hours = append(hours, at)
					break
				}
				return nil, 0, errNoClock
			}
		}
		adjacent = m[1] != "" && text != "" && text[0] >= '0' && text[0] <= '9'
	}
	return hours, links, nil
}

// clockHour is hours, and minutes or a fraction, as a position in steps of a half.
func clockHour(hours, minutes, fraction string) (float64, error) {
	h, _ := strconv.Atoi(hours)
	at := float64(h)
	switch {
	case minutes == "30" || strings.TrimRight(fraction, "0") == "5":
		at += 0.5
	case strings.Trim(minutes, "0") != "" || strings.Trim(fraction, "0") != "":
		return 0, words.Errorf("clock positions go in half hours")
	}
	if at == 0 || at >= 13 {
		return 0, words.Errorf("clock positions go from 1 to 12")
	}
	return wrapHour(at), nil
}

func wrapHour(h float64) float64 {
	if h > 12 {
		return h - 12
	}
	return h
}
