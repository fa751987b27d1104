package main

import (
	"math"
	"strconv"
	"strings"
	"time"

	"pushcue/frames"
	"pushcue/frames/counter"
	"pushcue/internal/counterset"
	"pushcue/timeline/distance"
	"pushcue/timeline/timecode"
)

// Cleaned counts instants, one a frame, of the track that is made of what was read.
type cleaned struct {
	claimed, near, far int
	hidden             int // claimed though nothing was shown for two seconds
	resets, found      int // settings to zero, and those reported within a second
	invented           int // settings reported that weren't
}

func (c *cleaned) add(o cleaned) {
	c.claimed, c.near, c.far, c.hidden = c.claimed+o.claimed, c.near+o.near, c.far+o.far, c.hidden+o.hidden
	c.resets, c.found, c.invented = c.resets+o.resets, c.found+o.found, c.invented+o.invented
}

// cleanedOf holds the track against what the recording shows.
func cleanedOf(r counterset.Recording, rec *frames.Recording, line *counter.Line) (c cleaned, err error) {
	c.resets = len(r.Rezeroed)
	if line == nil {
		return c, nil
	}
	unit := unitShown(r)
	var readings []distance.Reading
	for _, s := range line.Samples {
		if s.State == counter.AsShown || s.State == counter.Filled {
			readings = append(readings, distance.Reading{At: s.At, Shown: distance.Metres(s.Value) * unit,
				Source: distance.FromPicture, Unsure: s.State == counter.Filled})
		}
	}
	track, _, err := distance.NewTrack(readings, distance.TrackOptions{})
	if err != nil {
		return c, err
	}
	step := float64(unit) * math.Pow10(-line.Decimals) * 1.001
	for i, at := range rec.Times {
		p := track.At(at)
		if p.State < distance.Filled || i >= len(r.Metres) {
			continue
		}
		c.claimed++
		low, high := shownRound(r, i)
		off := max(low-float64(p.Metres), float64(p.Metres)-high, 0)
		switch {
		case math.IsInf(low, 1): // nothing was shown just then
			if hiddenFor(r, rec, i) > 2*time.Second {
				c.hidden++
			}
			c.near++
		case off <= step:
			c.near++
		case off > 0.3:
			c.far++
		}
	}
	for _, reset := range track.Resets() {
		known := false
		for _, s := range r.Rezeroed {
			at := timecode.VideoSeconds(s)
			known = known || reset.Before.Add(-time.Second) <= at && at <= reset.After.Add(time.Second)
		}
		if known {
			c.found++
		} else {
			c.invented++
		}
	}
	return c, nil
}

func unitShown(r counterset.Recording) distance.Metres {
	for i, shown := range r.Shown {
		digits := strings.TrimRight(strings.ReplaceAll(shown, ",", "."), " mft")
		if v, err := strconv.ParseFloat(digits, 64); err == nil && v > 1 && r.Metres[i] < v*0.9 {
			return distance.PerFoot
		}
	}
	return 1
}

// shownRound is what the counter shows from two frames before frame i to two after:
// between two of them the track may be anywhere between.
func shownRound(r counterset.Recording, i int) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for k := max(0, i-2); k <= min(i+2, len(r.Metres)-1); k++ {
		if v := r.Metres[k]; !math.IsNaN(v) {
			low, high = min(low, v), max(high, v)
		}
	}
	return low, high
}

// hiddenFor is how long nothing has been shown at frame i.
func hiddenFor(r counterset.Recording, rec *frames.Recording, i int) time.Duration {
	first := i
	for first > 0 && math.IsNaN(r.Metres[first-1]) {
		first--
	}
	return rec.Times[i].Sub(rec.Times[first])
}

func (c cleaned) results(name string) []result {
	share := func(n int) float64 { return 100 * float64(n) / float64(max(c.claimed, 1)) }
	return []result{
		{what: name + ": cleaned, within a step of the display", value: share(c.near), unit: "%", limit: 99, least: true},
		{what: name + ": cleaned, off by more than 0.3 m", value: float64(c.far), limit: 0.5},
		{what: name + ": claimed after 2 s of nothing shown", value: float64(c.hidden), limit: 0.5},
		{what: name + ": set to zero again, told within 1 s", value: 100 * float64(c.found) / float64(max(c.resets, 1)), unit: "%", limit: 100, least: true},
		{what: name + ": set to zero again where it wasn't", value: float64(c.invented), limit: 0.5},
	}
}
