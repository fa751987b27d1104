package timecode

import (
	"fmt"
	"math"
	"regexp"
	"strconv"

	"pushcue/timeline/words"
)

// A Rate is frames a second as a fraction: 30000/1001.
type Rate struct{ Num, Den int }

// SMPTE is a timecode label (SMPTE ST 12-1): a name for a frame, which becomes a
// moment only with a rate.
type SMPTE struct {
	Hours, Minutes, Seconds, Frames int
	Drop                            bool // two labels dropped each minute but every tenth
}

var smpteForm = regexp.MustCompile(`^(\d{1,2})[:;](\d{2})[:;](\d{2})([:;])(\d{2,3})$`)

// ParseSMPTE reads HH:MM:SS:FF, or HH:MM:SS;FF where frames are dropped. Whether
// such a frame exists is for Frame to say, since it takes the rate.
func ParseSMPTE(s string) (SMPTE, error) {
	m := smpteForm.FindStringSubmatch(tidy(s))
	if m == nil {
		return SMPTE{}, words.Errorf("not a timecode: write it as 00:05:14:12, or 00:05:14;12 where frames are dropped")
	}
	t := SMPTE{Hours: atoi(m[1]), Minutes: atoi(m[2]), Seconds: atoi(m[3]), Frames: atoi(m[5]), Drop: m[4] == ";"}
	switch {
	case t.Hours > 23:
		return SMPTE{}, words.Errorf("not a timecode: hours go from 00 to 23")
	case t.Minutes > 59:
		return SMPTE{}, words.Errorf("not a timecode: minutes go from 00 to 59")
	case t.Seconds > 59:
		return SMPTE{}, words.Errorf("not a timecode: seconds go from 00 to 59")
	}
	return t, nil
}

// String writes the label with : before the frames, or ; where frames are dropped.
func (t SMPTE) String() string {
	mark := ":"
	if t.Drop {
		mark = ";"
	}
	return fmt.Sprintf("%02d:%02d:%02d%s%02d", t.Hours, t.Minutes, t.Seconds, mark, t.Frames)
}

// Frame counts the frames from 00:00:00:00 to the label at rate r. It is an error
// when r has no timecode or the label names no frame at r.
func (t SMPTE) Frame(r Rate) (int64, error) {
	count, err := r.counting()
	if err != nil {
		return 0, err
	}
	if t.Frames >= count {
		return 0, words.Errorf("no frame %02d: at %s frames a second they go from 00 to %02d", t.Frames, r, count-1)
	}
	minutes := int64(t.Hours)*60 + int64(t.Minutes)
	n := (minutes*60+int64(t.Seconds))*int64(count) + int64(t.Frames)
	if !t.Drop {
		return n, nil
	}
	dropped := r.dropped()
	if dropped == 0 {
		return 0, words.Errorf("dropped frames (the ; in it) exist at 29.97 and 59.94 frames a second only; the recording has %s", r)
	}
	if t.Seconds == 0 && t.Frames < dropped && t.Minutes%10 != 0 {
		return 0, words.Errorf("no such frame: labels 00 to %02d are dropped at the start of each minute but every tenth", dropped-1)
	}
	return n - int64(dropped)*(minutes-minutes/10), nil
}

// Label names frame n, counted from 00:00:00:00. Labels start again after 24 h, as
// the standard's do. Frames are dropped only where r allows it.
func (r Rate) Label(n int64, drop bool) SMPTE {
	count, err := r.counting()
	if err != nil {
		return SMPTE{}
	}
	dropped := int64(0)
	if drop {
		dropped = int64(r.dropped())
	}
	perMinute := int64(count)*60 - dropped
	perTen := perMinute*10 + dropped
	perDay := perTen * 6 * 24
	n = ((n % perDay) + perDay) % perDay

	// Put the dropped labels back in: none in a ten's first minute, then some at
	// each minute's start.
	tens, rest := n/perTen, n%perTen
	n += dropped * 9 * tens
	if first := int64(count) * 60; rest >= first {
		n += dropped * ((rest-first)/perMinute + 1)
	}
	c := int64(count)
	s := n / c
	return SMPTE{
		Hours: int(s / 3600), Minutes: int(s / 60 % 60), Seconds: int(s % 60),
		Frames: int(n % c), Drop: dropped > 0,
	}
}

// FrameTime is when frame n of a recording with constant rate r is shown, to the
// nearest nanosecond; 0 for a rate that isn't one.
func (r Rate) FrameTime(n int64) Video {
	if r.Num <= 0 || r.Den <= 0 {
		return 0
	}
	ticks := n * int64(r.Den)
	whole, rest := ticks/int64(r.Num), ticks%int64(r.Num)
	return Video(whole*1e9 + roundTo(rest*1e9, int64(r.Num)))
}

// Float returns frames a second; 0 for a rate that isn't one.
func (r Rate) Float() float64 {
	if r.Num <= 0 || r.Den <= 0 {
		return 0
	}
	return float64(r.Num) / float64(r.Den)
}

// String writes the rate as people say it, to two decimals: 25, 29.97.
func (r Rate) String() string {
	return strconv.FormatFloat(math.Round(r.Float()*100)/100, 'f', -1, 64)
}

// counting is how many labels a second has: the rate itself, or the whole number
// that it is a 1001st below.
func (r Rate) counting() (int, error) {
	rate := r.Float()
	count := math.Round(rate)
	if count < 1 || math.Abs(rate-count) > count*1.1e-3 {
		return 0, words.Errorf("no timecode at %s frames a second: write the time as minutes and seconds, 5:14.2", r)
	}
	return int(count), nil
}

// dropped is how many labels a minute drops: 2 at 30/1.001, 4 at 60/1.001, else none.
func (r Rate) dropped() int {
	rate := r.Float()
	for _, c := range []int{30, 60} {
		if want := float64(c) * 1000 / 1001; math.Abs(rate-want) < want*1e-4 {
			return c / 15
		}
	}
	return 0
}
