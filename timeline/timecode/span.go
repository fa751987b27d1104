package timecode

import (
	"errors"
	"regexp"
	"strings"
	"time"

	"pushcue/timeline/words"
)

var (
	colonForm  = regexp.MustCompile(`^(?:(\d{1,6}):)?(\d{1,7}):(\d{2})(?:[.,](\d+))?$`)
	bareForm   = regexp.MustCompile(`^(\d{1,10})(?:[.,](\d+))?$`)
	unitsForm  = regexp.MustCompile(`^(?:\d+(?:[.,]\d+)? ?[\pL'"]+\.? ?)+$`)
	unitForm   = regexp.MustCompile(`(\d+)(?:[.,](\d+))? ?([\pL'"]+)`)
	lastDigits = regexp.MustCompile(`^.*?(\pL+)\.? ?\d{2}$`)
)

// units are the lengths of the units of time, by their keys in the language files.
var units = map[string]time.Duration{
	"d": 24 * time.Hour, "h": time.Hour, "m": time.Minute, "s": time.Second, "ms": time.Millisecond,
}

// finer is the unit below one, where a number without a unit can count in it.
var finer = map[string]string{"h": "m", "m": "s"}

// A count is a length of time as written and the size of its last digit.
type count struct{ length, step time.Duration }

var errNoCount = words.Errorf("not a length of time: write it as 1:35, 1m35s or 30 s")

// ParseSpan reads a length of time, signed: -1h, 1m35s, 30s, 2,5 s, 1:35 (minutes
// and seconds), 1:02:03. A bare number is refused, but for 0, since nobody can tell
// its unit.
func ParseSpan(s string) (time.Duration, error) {
	body := tidy(s)
	negative := strings.HasPrefix(body, "-")
	body = strings.TrimLeft(strings.TrimPrefix(strings.TrimPrefix(body, "-"), "+"), " ")
	if body == "0" {
		return 0, nil
	}
	if bareForm.MatchString(body) {
		return 0, words.Errorf("a number without a unit: write %s s or %s min", body, body)
	}
	c, err := parseCount(body)
	if err != nil {
		return 0, err
	}
	if negative {
		return -c.length, nil
	}
	return c.length, nil
}

// ParseVideo reads a time in the recording: 5:14.2, 1:02:03, 5m14s, a bare number of
// seconds, or a SMPTE label, which comes back as tc with at 0 because its meaning
// waits for the rate. at is the time exactly as written; a player that showed it may
// have been up to 2*half further on.
func ParseVideo(s string) (at Video, half time.Duration, tc *SMPTE, err error) {
	body := tidy(s)
	if smpteForm.MatchString(body) {
		label, err := ParseSMPTE(body)
		if err != nil {
			return 0, 0, nil, err
		}
		return 0, 0, &label, nil
	}
	if m := bareForm.FindStringSubmatch(body); m != nil {
		length, step, err := scaled(m[1], m[2], time.Second)
		return Video(length), step / 2, nil, err
	}
	c, err := parseCount(body)
	if errors.Is(err, errNoCount) {
		err = words.Errorf("not a time in the recording: write it as 5:14.2, 1:02:03, seconds, or timecode 00:05:14:12")
	}
	return Video(c.length), c.step / 2, nil, err
}

// ParseElapsed reads a time counted from the log's own zero: 0:05:14, 5:14.2, 5 min
// 14 s, T+5:14, or a bare number of seconds.
func ParseElapsed(s string) (Written, error) {
	body := strings.TrimSpace(strings.TrimPrefix(strings.TrimPrefix(tidy(s), "t"), "+"))
	w := Written{Form: Elapsed, Text: s}
	if m := bareForm.FindStringSubmatch(body); m != nil {
		var err error
		w.Since, w.Resolution, err = scaled(m[1], m[2], time.Second)
		return w, err
	}
	c, err := parseCount(body)
	w.Since, w.Resolution = c.length, c.step
	return w, err
}

// parseCount reads a tidied, unsigned length of time that shows its units, by colons
// or by words.
func parseCount(body string) (count, error) {
	if m := colonForm.FindStringSubmatch(body); m != nil {
		return colonCount(m[1], m[2], m[3], m[4])
	}
	if m := lastDigits.FindStringSubmatch(body); m != nil {
		body += finer[words.FindTimeUnit(m[1])] // 1h05 leaves the minutes' unit out, 5m14 the seconds'
	}
	if !unitsForm.MatchString(body) {
		return count{}, errNoCount
	}
	var c count
	last := 2 * century
	for _, m := range unitForm.FindAllStringSubmatch(body, -1) {
		unit, known := units[words.FindTimeUnit(m[3])]
		if !known {
			return count{}, words.Errorf("not a unit of time: %s", m[3])
		}
		if unit >= last {
			return count{}, words.Errorf("units go from the longest to the shortest: 1h05m30s")
		}
		last = unit
		length, step, err := scaled(m[1], m[2], unit)
		if err != nil {
			return count{}, err
		}
		if c.length += length; c.length > century {
			return count{}, errTooLong
		}
		c.step = step
	}
	return c, nil
}

func colonCount(hours, minutes, seconds, fraction string) (count, error) {
	if atoi(seconds) > 59 {
		return count{}, words.Errorf("not a length of time: seconds go from 00 to 59")
	}
	if hours != "" && (len(minutes) != 2 || atoi(minutes) > 59) {
		return count{}, words.Errorf("not a length of time: minutes go from 00 to 59")
	}
	length, step, err := scaled(seconds, fraction, time.Second)
	if err != nil {
		return count{}, err
	}
	length += time.Duration(atoi(hours))*time.Hour + time.Duration(atoi(minutes))*time.Minute
	if length > century {
		return count{}, errTooLong
	}
	return count{length, step}, nil
}
