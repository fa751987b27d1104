package timecode

import (
	"regexp"
	"strings"
	"time"

	"pushcue/timeline/words"
)

// ParseClock reads a time that a clock showed: 10:07, 10:07:31.5, 10.07 Uhr, 10h07,
// 3:15 pm, with a date before or after it or without, with an offset or a zone's
// letters or without, and elapsed time where the text can't be a time of day. More
// than one reading comes back where the text leaves it open (01/02/2026 10:07).
func ParseClock(s string, order DateOrder) ([]Written, error) {
	if len(s) > longest {
		return nil, words.Errorf("not a time: far too long")
	}
	body := tidy(s)
	if body == "" {
		return nil, words.Errorf("not a time: nothing is written")
	}
	if strings.HasPrefix(body, "+") || strings.HasPrefix(body, "t+") {
		w, err := ParseElapsed(s)
		if err != nil {
			return nil, err
		}
		return []Written{w}, nil
	}
	body, offset, err := cutZone(body)
	if err != nil {
		return nil, err
	}
	readings, err := readMoment(body, order)
	if err != nil {
		return nil, err
	}
	for i := range readings {
		readings[i].Text = s
		readings[i].Offset = offset
	}
	return readings, nil
}

// readMoment reads a time alone, else a date and a time in either order.
func readMoment(body string, order DateOrder) ([]Written, error) {
	readings, failed := readTime(body)
	if failed == nil {
		return readings, nil
	}
	for _, f := range dateForms {
		if m := f.front.FindStringSubmatch(body); m != nil {
			readings, err := f.withTime(m[1:1+f.groups], m[1+f.groups], order)
			if err == nil {
				return readings, nil
			}
			failed = err
		}
		if m := f.back.FindStringSubmatch(body); m != nil {
			readings, err := f.withTime(m[2:], m[1], order)
			if err == nil {
				return readings, nil
			}
			failed = err
		}
		if f.whole.MatchString(body) {
			failed = words.Errorf("a date without a time of day")
		}
	}
	return nil, failed
}

func (f dateForm) withTime(date []string, clock string, order DateOrder) ([]Written, error) {
	times, err := readTime(clock)
	if err != nil {
		return nil, err
	}
	dates, err := f.read(date, order)
	if err != nil {
		return nil, err
	}
	var readings []Written
	for _, d := range dates {
		for _, w := range times {
			if w.Form != TimeOfDay {
				continue // beside a date it can't be elapsed time
			}
			w.Form, w.Year, w.Month, w.Day = DateTime, d.Year, d.Month, d.Day
			readings = append(readings, w)
		}
	}
	if len(readings) == 0 {
		return nil, words.Errorf("not a time of day: hours go from 0 to 23")
	}
	return readings, nil
}

var (
	shortForm   = regexp.MustCompile(`^(\d{1,2}):([0-5])$`)
	clockForm   = regexp.MustCompile(`^(\d{1,3}):(\d{2})(?::(\d{2})(?:[.,:](\d{1,9}))?)?$`)
	dottedForm  = regexp.MustCompile(`^(\d{1,2})\.(\d{2})(?:\.(\d{2})(?:,(\d{1,9}))?)?$`)
	hourForm    = regexp.MustCompile(`^(\d{1,2}) ?(\pL+)(?: ?(\d{2}) ?([\pL']+)?\.?(?: ?(\d{2})(?:[.,](\d{1,9}))? ?([\pL'"]+)?)?)?$`)
	compactForm = regexp.MustCompile(`^(\d{2})(\d{2})(?:(\d{2})(?:[.,](\d{1,9}))?)?$`)
	mixedForm   = regexp.MustCompile(`^(\d{1,3}):(\d{2})[.,](\d{1,9})$`)
	lonelyHour  = regexp.MustCompile(`^(\d{1,2})$`)
)

// readTime reads a time of day, or an elapsed time that can't be one.
func readTime(body string) ([]Written, error) {
	if first := strings.IndexFunc(body, isDigit); first > 0 && words.IsBeforeTime(body[:first]) {
		body = body[first:]
	}
	if m := hourForm.FindStringSubmatch(body); m != nil && isHourForm(m) {
		return timeOfDay([]string{body, m[1], m[3], m[5], m[6]})
	}
	body, half, said := cutTimeWords(body)
	if half != words.NoTimeWord {
		return readHalfDay(body, half)
	}
	if m := clockForm.FindStringSubmatch(body); m != nil {
		return readColons(m, said)
	}
	if m := dottedForm.FindStringSubmatch(body); m != nil {
		return timeOfDay(m)
	}
	if m := mixedForm.FindStringSubmatch(body); m != nil {
		return readMixed(m)
	}
	if m := compactForm.FindStringSubmatch(body); m != nil {
		return readCompact(m, said)
	}
	if m := lonelyHour.FindStringSubmatch(body); m != nil && said {
		return timeOfDay([]string{body, m[1], "", "", ""})
	}
	if m := shortForm.FindStringSubmatch(body); m != nil {
		return nil, words.Errorf("not a time: is it %s:0%s or %[1]s:%[2]s0? minutes have two digits", m[1], m[2])
	}
	if bareForm.MatchString(body) {
		return nil, words.Errorf("not a time of day: a bare number; write 10:07, or 0:05:14 for time since the start")
	}
	if c, err := parseCount(body); err == nil {
		return []Written{{Form: Elapsed, Since: c.length, Resolution: c.step}}, nil
	}
	return nil, words.Errorf("not a time: write it as 10:07 or 10:07:31")
}

// isHourForm reports whether the words between the numbers are those of a time of day, as
// in 10h07 and 10 h 07 min 12 s.
func isHourForm(m []string) bool {
	return words.IsHourMark(m[2]) && (m[4] == "" || words.FindTimeUnit(m[4]) == "m") && (m[7] == "" || words.FindTimeUnit(m[7]) == "s")
}

// cutTimeWords takes the words behind a time of day off: a half of the day, and that it is
// a time of day. Text with other words comes back whole.
func cutTimeWords(body string) (rest string, half words.TimeWord, said bool) {
	end := strings.LastIndexFunc(body, isDigit) + 1
	rest, tail := body[:end], strings.TrimSpace(body[end:])
	if rest == "" || tail == "" {
		return body, half, false
	}
	for _, tokens := range [][]string{{tail}, strings.Fields(tail)} {
		half, said = words.NoTimeWord, false
		known := true
		for _, token := range tokens {
			switch w := words.FindTimeWord(token); {
			case w == words.TimeOfDay && !said:
				said = true
			case w != words.NoTimeWord && w != words.TimeOfDay && half == words.NoTimeWord:
				half = w
			default:
				known = false
			}
		}
		if known {
			return rest, half, said
		}
	}
	return body, words.NoTimeWord, false
}

func isDigit(r rune) bool { return r >= '0' && r <= '9' }

// readColons reads 10:07 and 10:07:31.5; above 24 hours only h:mm:ss makes sense, as
// elapsed time. A fourth field would be a frame's label, which is no clock's time.
func readColons(m []string, said bool) ([]Written, error) {
	if strings.Count(m[0], ":") == 3 {
		return nil, words.Errorf("a recording's timecode, not a clock's time: put it in a column named video")
	}
	if atoi(m[1]) > 23 && m[3] != "" && !said && !midnight(m) {
		c, err := colonCount(m[1], m[2], m[3], m[4])
		return []Written{{Form: Elapsed, Since: c.length, Resolution: c.step}}, err
	}
	return timeOfDay(m)
}

// readMixed reads 5:14.2 as elapsed minutes and seconds; where two digits follow,
// 10:07.31 may also be a time of day.
func readMixed(m []string) ([]Written, error) {
	c, err := colonCount("", m[1], m[2], m[3])
	if err != nil {
		return nil, err
	}
	elapsed := Written{Form: Elapsed, Since: c.length, Resolution: c.step}
	if len(m[3]) != 2 {
		return []Written{elapsed}, nil
	}
	clock, err := timeOfDay([]string{m[0], m[1], m[2], m[3], ""})
	if err != nil {
		return []Written{elapsed}, nil
	}
	return append(clock, elapsed), nil
}

// readCompact reads 0930 as a time of day; 1007 without a word to say so could be
// seconds as well.
func readCompact(m []string, said bool) ([]Written, error) {
	clock, err := timeOfDay(m)
	if said || err == nil && strings.HasPrefix(m[1], "0") {
		return clock, err
	}
	length, step, countErr := scaled(m[1]+m[2]+m[3], m[4], time.Second)
	if countErr != nil || err != nil {
		return nil, words.Errorf("not a time of day: a bare number; write 10:07, or 0:05:14 for time since the start")
	}
	return append(clock, Written{Form: Elapsed, Since: length, Resolution: step}), nil
}

// readHalfDay reads a time with a half of the day behind it. Whether "12 in the morning" is
// noon differs from place to place, so only am and pm go with 12.
func readHalfDay(body string, half words.TimeWord) ([]Written, error) {
	pm := half == words.PM || half == words.Afternoon
	var m []string
	for _, form := range []*regexp.Regexp{clockForm, dottedForm} {
		if m = form.FindStringSubmatch(body); m != nil {
			break
		}
	}
	if h := lonelyHour.FindStringSubmatch(body); h != nil {
		m = []string{body, h[1], "", "", ""}
	}
	if h := hourForm.FindStringSubmatch(body); h != nil && isHourForm(h) {
		m = []string{body, h[1], h[3], h[5], h[6]}
	}
	if m == nil {
		return nil, words.Errorf("not a time: write it as 3:15 pm")
	}
	readings, err := timeOfDay(m)
	if err != nil {
		return nil, err
	}
	hour := atoi(m[1])
	switch {
	case hour > 12 && !pm || hour == 0 && pm || hour > 23 || hour == 12 && (half == words.Morning || half == words.Afternoon):
		return nil, words.Errorf("not a time: %d o'clock isn't in that half of the day", hour)
	case hour == 12 && !pm:
		readings[0].Since -= 12 * time.Hour
	case hour < 12 && pm:
		readings[0].Since += 12 * time.Hour
	}
	return readings, nil
}

func midnight(m []string) bool {
	return m[1] == "24" && atoi(m[2]) == 0 && atoi(m[3]) == 0 && strings.Trim(m[4], "0") == ""
}

// timeOfDay takes hours, minutes, seconds and a fraction, of which all after the
// hours may be missing. 24:00 is the end of the day (ISO 8601:2004).
func timeOfDay(m []string) ([]Written, error) {
	hours, minutes, seconds := atoi(m[1]), atoi(m[2]), atoi(m[3])
	switch {
	case minutes > 59:
		return nil, words.Errorf("not a time: minutes go from 00 to 59")
	case seconds > 59:
		return nil, words.Errorf("not a time: seconds go from 00 to 59")
	case hours > 23 && !midnight(m):
		return nil, words.Errorf("not a time of day: hours go from 0 to 23; for time since the start write 0:05:14")
	}
	w := Written{Form: TimeOfDay, Resolution: time.Hour}
	w.Since = time.Duration(hours)*time.Hour + time.Duration(minutes)*time.Minute
	if m[2] != "" {
		w.Resolution = time.Minute
	}
	if m[3] != "" {
		part, step, err := scaled(m[3], m[4], time.Second)
		if err != nil {
			return nil, err
		}
		w.Since, w.Resolution = w.Since+part, step
	}
	return []Written{w}, nil
}
