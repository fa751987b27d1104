package jobsheet

import (
	"errors"
	"fmt"
	"path/filepath"
	"strconv"
	"strings"
	"time"
	_ "time/tzdata" // zones must work on computers that have none installed
	"unicode"

	"pushcue/timeline/distance"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// A value is what stands behind one key.
type value struct {
	path string // "job.zone"
	line int
	raw  any
}

// written gives the value as the sheet has it, near enough to find it again.
func (v value) written() string {
	switch raw := v.raw.(type) {
	case string:
		return raw
	case nil, map[string]any, []any:
		return ""
	default:
		return fmt.Sprint(raw)
	}
}

var errText = words.Errorf("text is wanted here, in quotes")

// text takes a string, or a number whose digits are all that matters (a reference, a
// phone number).
func (v value) text() (string, error) {
	switch raw := v.raw.(type) {
	case string:
		return strings.TrimSpace(raw), nil
	case int64:
		return strconv.FormatInt(raw, 10), nil
	}
	return "", errText
}

// str takes a string alone.
func (v value) str() (string, error) {
	if raw, ok := v.raw.(string); ok {
		return strings.TrimSpace(raw), nil
	}
	return "", errText
}

// filePath takes a file's name as it is written, since a name may begin with a blank.
// Backslashes become slashes: both mean the same here.
func (v value) filePath() (string, error) {
	s, ok := v.raw.(string)
	if !ok {
		return "", errText
	}
	if strings.TrimSpace(s) == "" {
		return "", errors.New("a file's name is wanted here")
	}
	if strings.ContainsFunc(s, unicode.IsControl) {
		return "", words.Errorf(`a file's name can't hold a control character; in double quotes \n and \t are such: write / or single quotes`)
	}
	return strings.ReplaceAll(s, `\`, "/"), nil
}

func (v value) span() (time.Duration, error) {
	s, err := v.str()
	if err != nil {
		if _, number := v.raw.(int64); number {
			return 0, words.Errorf(`a number without a unit: write "%d s"`, v.raw)
		}
		return 0, words.Errorf(`a length of time is wanted here, in quotes: "1m35s"`)
	}
	return timecode.ParseSpan(s)
}

// length takes "0.6 m", "2 ft": always with its unit, since a sheet outlives habits.
func (v value) length() (distance.Metres, error) {
	s, err := v.str()
	if err != nil {
		return 0, words.Errorf(`a length with its unit is wanted here, in quotes: "0.6 m"`)
	}
	if strings.Trim(s, "+-0123456789., ") == "" {
		return 0, words.Errorf("a length without a unit: write %s m or %s ft", s, s)
	}
	readings, err := distance.Parse(s, distance.ParseOptions{})
	if err != nil {
		return 0, err
	}
	if len(readings) > 1 {
		return 0, words.Errorf("can be %v or %v: write it with a point and no other mark",
			readings[0].Metres.Shown(readings[0].Unit), readings[1].Metres.Shown(readings[1].Unit))
	}
	return readings[0].Metres, nil
}

// date takes a date bare or in quotes.
func (v value) date() (Date, error) {
	s, ok := v.raw.(string)
	if !ok {
		if d, isDate := v.raw.(interface{ String() string }); isDate {
			s = d.String()
		}
	}
	dates, err := timecode.ParseDate(s, "")
	if err != nil {
		return Date{}, err
	}
	if len(dates) > 1 {
		return Date{}, words.Errorf("can be %v or %v: write it as one of them", dates[0], dates[1])
	}
	return dates[0], nil
}

// logTime takes a time on the log's clock, bare or in quotes.
func (v value) logTime(order timecode.DateOrder) (*LogTime, error) {
	var s string
	switch raw := v.raw.(type) {
	case string:
		s = raw
	case time.Time:
		s = raw.Format(time.RFC3339Nano)
	case fmt.Stringer: // TOML's local time and local date and time
		s = raw.String()
	default:
		return nil, words.Errorf(`a time is wanted here, in quotes: "10:07:31"`)
	}
	at, err := ParseLogTime(s, string(order))
	if err != nil {
		return nil, err
	}
	at.Line = v.line
	return at, nil
}

// ParseLogTime reads a time of the log's clock as a sheet or a person gives it; dates
// is the order of dates as [log] dates names it, "" where it is open.
func ParseLogTime(s, dates string) (*LogTime, error) {
	readings, err := timecode.ParseClock(s, timecode.DateOrder(dates))
	if err != nil {
		return nil, err
	}
	if len(readings) > 1 {
		return nil, words.Errorf("can be %s or %s: write the date as 2026-03-02 and the time as 10:07:31", spell(readings[0]), spell(readings[1]))
	}
	return &LogTime{Written: readings[0], Text: s}, nil
}

func spell(w timecode.Written) words.Sentence {
	clock := timecode.Video(w.Since).Format(0)
	if w.Form == timecode.DateTime {
		return words.Plain("%s %s", timecode.Date{Year: w.Year, Month: w.Month, Day: w.Day}, clock)
	}
	if w.Form == timecode.Elapsed {
		return words.Tell("%s since the start", clock)
	}
	return words.Tell("%s by the clock", clock)
}

// video takes a time in the recording: text, or a bare number of seconds.
func (v value) video() (timecode.Video, time.Duration, error) {
	var s string
	switch raw := v.raw.(type) {
	case string:
		s = raw
	case int64:
		s = strconv.FormatInt(raw, 10)
	case float64:
		s = strconv.FormatFloat(raw, 'f', -1, 64)
	default:
		return 0, 0, words.Errorf(`a time in the recording is wanted here, in quotes: "5:14.2"`)
	}
	at, half, label, err := timecode.ParseVideo(s)
	if label != nil {
		return 0, 0, words.Errorf("a timecode depends on the recording's frame rate: write the time, as in 5:14.2")
	}
	return at, half, err
}

func (v value) zone() (*time.Location, error) {
	s, err := v.str()
	if err != nil || s == "" || s == "Local" {
		return nil, words.Errorf(`a zone is wanted here by its name: "Europe/Lisbon"`)
	}
	zone, err := time.LoadLocation(s)
	if err != nil {
		return nil, words.Errorf("no zone of that name: write it as the IANA list has it, as in Europe/Lisbon or America/Chicago")
	}
	return zone, nil
}

// box takes the on-screen counter's place: x, y, w, h in pixels.
func (v value) box() ([4]int, error) {
	wrong := words.Errorf("four whole numbers are wanted here: [x, y, w, h] in pixels, w and h above 0")
	list, ok := v.raw.([]any)
	if !ok || len(list) != 4 {
		return [4]int{}, wrong
	}
	var box [4]int
	for i, item := range list {
		n, whole := item.(int64)
		if !whole || n < 0 || n > 1<<16 || i >= 2 && n == 0 {
			return [4]int{}, wrong
		}
		box[i] = int(n)
	}
	return box, nil
}

// besideSheet roots a path named in a sheet above the job's in that sheet's folder.
func (r *reader) besideSheet(path string) string {
	if r.level == inJob || filepath.IsAbs(path) || r.at.Dir == "" {
		return path
	}
	return filepath.ToSlash(filepath.Join(r.at.Dir, path))
}
