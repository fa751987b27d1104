package placingset

import (
	"cmp"
	"encoding/csv"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// A line is a row of the log before it is written.
type line struct {
	Row
	written float64 // log clock
	time    string
	place   string
}

// delays draws how long after its moment a row is written. The prompt writer and the
// late one go by lognormal laws; the uneven one by another law, with a pace of its own.
func (d *drawing) delays() func() float64 {
	forgets := d.between(0, 0.06)
	forgotten := func() float64 { return 60 * math.Exp(0.4*d.NormFloat64()) }
	lognormal := func(middle, s float64) float64 { return middle * math.Exp(s*d.NormFloat64()) }
	switch d.of(0.4, 0.35, 0.25) {
	case 0:
		d.Writer = "prompt"
		return func() float64 { return lognormal(1, 0.6) }
	case 1:
		d.Writer = "late"
		return func() float64 {
			if d.chance(forgets) {
				return forgotten()
			}
			return lognormal(5, 0.7)
		}
	}
	d.Writer = "uneven"
	pace := d.spread(0.8, 6)
	return func() float64 {
		if d.chance(forgets) {
			return d.between(25, 110)
		}
		return pace * (d.ExpFloat64() + d.ExpFloat64())
	}
}

// write draws the log.
func (d *drawing) write() []line {
	delay := d.delays()
	d.Resolution = []string{"tenth", "second", "minute"}[d.of(0.15, 0.6, 0.25)]
	rows := int(d.spread(1, 41))
	distances := d.of(0.8, 0.2) == 0
	noTime, noPlace, typos := 0.0, 0.0, 0.0
	if d.chance(0.3) {
		noTime = d.between(0.05, 0.5)
	}
	if d.chance(0.3) {
		noPlace = d.between(0.05, 0.3)
	}
	if d.chance(0.4) {
		typos = d.between(0.03, 0.15)
	}
	var lines []line
	for range rows {
		var l line
		l.Seen = d.looked()
		l.Late = delay()
		l.written = d.shows(l.Seen) + l.Late
		lines = append(lines, l)
	}
	slices.SortFunc(lines, func(a, b line) int { return cmp.Compare(a.written, b.written) })
	noon := d.chance(0.1) // 2:05:10 PM
	length := d.lengths()
	for i := range lines {
		l := &lines[i]
		l.Timed, l.Placed = !d.chance(noTime), distances && !d.chance(noPlace)
		if l.Timed {
			l.time = d.clock(l.written, d.Resolution, noon)
		}
		if l.Placed {
			place := d.push.at(l.Seen)
			l.Passes = d.push.passes(place)
			l.place = length(place)
			if d.chance(typos) {
				slip := d.slip(l.place)
				l.Typo, l.place = slip != l.place, slip
			}
		}
		d.Rows = append(d.Rows, l.Row)
	}
	b := &strings.Builder{}
	w := csv.NewWriter(b)
	w.Write([]string{"time", "distance", "what"})
	for _, l := range lines {
		w.Write([]string{l.time, l.place, []string{"roots", "crack", "joint", "belly"}[d.IntN(4)]})
	}
	w.Flush()
	d.Log = b.String()
	return lines
}

// looked draws a moment at which something was seen: most often while the camera
// stands, soon after it has come to rest.
func (d *drawing) looked() float64 {
	end := d.Recording.End.Seconds() - 1
	for {
		i := d.IntN(len(d.push.v) - 1)
		from, to := d.push.v[i], d.push.v[i+1]
		if d.push.stands(i) != d.chance(0.86) {
			continue
		}
		if v := from + (to-from)*math.Pow(d.Float64(), 1.3); v < end {
			return v
		}
	}
}

// lengths is how this writer writes distances.
func (d *drawing) lengths() func(metres float64) string {
	sloppy := 0.0
	if d.chance(0.2) {
		sloppy = 0.06 // metres
	}
	switch d.of(0.6, 0.08, 0.12, 0.12, 0.08) {
	case 1: // to half a metre
		return func(m float64) string { return fmt.Sprintf("%.1f m", math.Round(m*2)/2) }
	case 2: // feet, decimal
		return func(m float64) string { return fmt.Sprintf("%.1f ft", (m+sloppy*d.NormFloat64())/0.3048) }
	case 3: // to half a foot
		return func(m float64) string { return fmt.Sprintf("%.1f ft", math.Round(m/0.3048*2)/2) }
	case 4:
		return func(m float64) string { return fmt.Sprintf("%.2f m", max(0, m+sloppy*d.NormFloat64()/2)) }
	}
	return func(m float64) string { return fmt.Sprintf("%.1f m", max(0, m+sloppy*d.NormFloat64())) }
}

// slip draws a slip of the pen in a written length.
func (d *drawing) slip(written string) string {
	number, unit, _ := strings.Cut(written, " ")
	digits := strings.ReplaceAll(strings.TrimPrefix(number, "-"), ".", "")
	value, _ := strconv.ParseFloat(number, 64)
	switch d.IntN(4) {
	case 0:
		return fmt.Sprintf("%.2f %s", value/10, unit)
	case 1:
		return fmt.Sprintf("%.1f %s", value+float64(10*(1+d.IntN(2))), unit)
	case 2: // two digits change places
		if len(digits) < 2 || value < 0 {
			break
		}
		b := []byte(digits)
		i := d.IntN(len(b) - 1)
		b[i], b[i+1] = b[i+1], b[i]
		point := strings.IndexByte(number, '.')
		return string(b[:point]) + "." + string(b[point:]) + " " + unit
	}
	at := d.IntN(len(number))
	if number[at] < '0' {
		at = len(number) - 1
	}
	return number[:at] + string('0'+byte(d.IntN(10))) + number[at+1:] + " " + unit
}

// clock is what a clock shows, as somebody writes it down.
func (d *drawing) clock(seconds float64, resolution string, noon bool) string {
	tenths := int(math.Floor(seconds * 10))
	// The clock is set back at 02:00 where summer time ends that night.
	if d.Night && d.began < 7200 && tenths >= 72000 {
		tenths -= 36000
	}
	tenths %= 864000
	s := tenths / 10
	hour, mark := s/3600, ""
	if noon {
		mark = " AM"
		if hour >= 12 {
			mark = " PM"
		}
		hour = (hour+11)%12 + 1
	}
	switch resolution {
	case "minute":
		return fmt.Sprintf("%02d:%02d%s", hour, s/60%60, mark)
	case "tenth":
		return fmt.Sprintf("%02d:%02d:%02d.%d%s", hour, s/60%60, s%60, tenths%10, mark)
	}
	return fmt.Sprintf("%02d:%02d:%02d%s", hour, s/60%60, s%60, mark)
}
