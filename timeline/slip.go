package timeline

import (
	"math"
	"strconv"
	"strings"

	"pushcue/timeline/distance"
	"pushcue/timeline/timecode"
)

// meant is the distance that a row may have been meant to say, where what it says is one
// slip of the pen away from what the track shows while the row may have been seen: the
// decimal point in another place, a digit changed, added or left out, two exchanged.
func (r *resolver) meant(l *distance.Length, from, to timecode.Video) (distance.Metres, bool) {
	unit := distance.Metres(1)
	if l.Unit == distance.Foot {
		unit = distance.PerFoot
	}
	decimals := 0
	for step := float64(l.Step / unit); step < 0.75 && decimals < 3; step *= 10 {
		decimals++
	}
	digits := func(m distance.Metres) string {
		return strings.ReplaceAll(strconv.FormatFloat(math.Abs(float64(m/unit)), 'f', decimals, 64), ".", "")
	}
	written := digits(l.Metres)
	const looks = 40
	for i := range looks + 1 {
		v := from + (to-from)*timecode.Video(i)/looks
		p := r.track.At(v)
		if p.State < distance.Filled {
			continue
		}
		m := distance.Metres(math.Round(float64((p.Metres-r.track.Offset(v))/l.Step))) * l.Step
		if (m-l.Metres).Abs() > r.tolerance(l) && oneSlip(written, digits(m)) {
			return m, true
		}
	}
	return 0, false
}

// oneSlip reports whether two numbers' digits are one slip of the pen apart; a point in
// another place leaves the digits as they are, but for zeros at the ends.
func oneSlip(a, b string) bool {
	if trimmed := strings.Trim(a, "0"); trimmed != "" && trimmed == strings.Trim(b, "0") {
		return true
	}
	switch len(a) - len(b) {
	case 1:
		return without(a, b)
	case -1:
		return without(b, a)
	case 0:
		var differ []int
		for i := range len(a) {
			if a[i] != b[i] {
				differ = append(differ, i)
			}
		}
		const telling = 3 // digits: of fewer, one changed makes nearly any other number
		return len(differ) == 1 && len(a) >= telling ||
			len(differ) == 2 && differ[1] == differ[0]+1 && a[differ[0]] == b[differ[1]] && a[differ[1]] == b[differ[0]]
	}
	return false
}

// without reports whether long is short with one more digit.
func without(long, short string) bool {
	for i := range len(long) {
		if long[:i]+long[i+1:] == short {
			return true
		}
	}
	return false
}
