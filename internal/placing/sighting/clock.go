package sighting

import (
	"math"
	"regexp"
	"slices"
	"strconv"
	"time"

	"pushcue/frames"
	"pushcue/frames/counter"
	"pushcue/timeline"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
)

// A recorder's date and time as it is written on the picture: the date in any order,
// or none.
var (
	writtenTime = regexp.MustCompile(`(\d{1,2})[:.](\d{2})[:.](\d{2})\D*$`)
	writtenDate = regexp.MustCompile(`^\D*(\d{1,4})[-./](\d{1,2})[-./](\d{1,4})\D`)
)

// What it takes to believe that a line of digits is the recorder's clock.
const (
	leastTold     = 8               // readings
	toldShare     = 0.8             // of them, that agree with each other
	toldWithin    = 2 * time.Second // of the middle one
	elapsedWithin = 3 * time.Second // a time that counts from the recording's own start is no clock
)

// TellClock notes with each part what the recorder's clock, as written on the
// picture, showed at its first frame.
func (s *Seen) TellClock(rec *timeline.Recording, parts []frames.Part, sheet *jobsheet.Sheet) {
	if s == nil {
		return
	}
	for _, g := range s.Groups {
		if g.Clock == nil {
			continue
		}
		for _, k := range g.Parts {
			start := parts[k].Start
			end := start.Add(parts[k].Length)
			var within []counter.Sample
			for _, x := range g.Clock.Samples {
				if x.At >= start && x.At < end && x.Text != "" {
					within = append(within, x)
				}
			}
			rec.Parts[k].Shown = shownClock(within, start, sheet)
		}
	}
}

// shownClock is what the clock showed at start; nil where the samples don't agree or
// count from the recording's start.
func shownClock(samples []counter.Sample, start timecode.Video, sheet *jobsheet.Sheet) *timeline.Shown {
	var at []time.Time // start, by each sample: up to a second early, since a clock shows whole seconds
	dated := 0
	for _, s := range samples {
		if when, withDate, ok := parseShown(s.Text, sheet); ok {
			at = append(at, when.Add(-s.At.Sub(start)))
			if withDate {
				dated++
			}
		}
	}
	if len(at) < leastTold {
		return nil
	}
	slices.SortFunc(at, time.Time.Compare)
	middle := at[len(at)/2]
	at = slices.DeleteFunc(at, func(t time.Time) bool { return t.Sub(middle).Abs() > toldWithin })
	if float64(len(at)) < toldShare*float64(len(samples)) {
		return nil
	}
	// The latest were read right after the clock had gone on.
	shown := &timeline.Shown{At: at[len(at)*95/100].Add(timeOfLooking), Dated: dated*2 > len(samples)}
	if !shown.Dated && countsUp(shown.At, start) {
		return nil
	}
	return shown
}

// timeOfLooking is how long after its going on a clock is looked at, in the middle.
const timeOfLooking = 100 * time.Millisecond

// countsUp tells a time elapsed since the part or the recording began.
func countsUp(t time.Time, start timecode.Video) bool {
	since := time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute + time.Duration(t.Second())*time.Second
	near := func(d time.Duration) bool {
		return math.Abs(float64(since-d)) <= float64(elapsedWithin) || 24*time.Hour-since <= elapsedWithin
	}
	return near(0) || near(start.Sub(0))
}

// parseShown reads what a clock shows. A time without a date is of day 1 of year 1.
func parseShown(text string, sheet *jobsheet.Sheet) (t time.Time, dated, ok bool) {
	m := writtenTime.FindStringSubmatch(text)
	if m == nil {
		return t, false, false
	}
	h, min, sec := atoi(m[1]), atoi(m[2]), atoi(m[3])
	if h > 23 || min > 59 || sec > 59 {
		return t, false, false
	}
	y, month, day := 1, 1, 1
	if d := writtenDate.FindStringSubmatch(text[:len(text)-len(m[0])] + " "); d != nil {
		y, month, day, dated = dateShown(atoi(d[1]), atoi(d[2]), atoi(d[3]), len(d[1]), sheet)
	}
	return time.Date(y, time.Month(month), day, h, min, sec, 0, time.UTC), dated, true
}

// dateShown settles the order of a date's numbers: the year where it has four digits,
// the rest as the job's date or the sheet's order of dates says. false where both
// orders would do.
func dateShown(a, b, c, firstWide int, sheet *jobsheet.Sheet) (y, month, day int, ok bool) {
	if firstWide == 4 {
		return validDate(a, b, c)
	}
	if c < 100 {
		c += 2000
	}
	job := sheet.Job.Date
	switch {
	case a > 12, sheet.Log.Dates == "dmy", job.Year == c && int(job.Month) == b && job.Day == a:
		return validDate(c, b, a)
	case b > 12, sheet.Log.Dates == "mdy", job.Year == c && int(job.Month) == a && job.Day == b, a == b:
		return validDate(c, a, b)
	}
	return 1, 1, 1, false
}

func validDate(y, month, day int) (int, int, int, bool) {
	d := time.Date(y, time.Month(month), day, 0, 0, 0, 0, time.UTC)
	if d.Year() != y || int(d.Month()) != month || d.Day() != day {
		return 1, 1, 1, false
	}
	return y, month, day, true
}

func atoi(s string) int {
	n, err := strconv.Atoi(s)
	if err != nil {
		return math.MaxInt32
	}
	return n
}
