package account

import (
	"fmt"
	"math"
	"strings"

	"pushcue/timeline/distance"
	"pushcue/timeline/timecode"
	"pushcue/timeline/wording"
)

// A Chart is distance against time, drawn under the player.
type Chart struct {
	Width, Height float64
	Left, Right   float64
	Top, Bottom   float64
	Lines         []string // SVG points of each stretch that was read without a long gap
	Dots          []Dot
	Ticks         []Tick
	Levels        []Row
	From, To      float64 // video time at Left and Right
	Push          int
}

type Dot struct {
	X, Y   float64
	Number int
	Title  string
}

// longGap is how far readings may lie apart in seconds before the line is broken:
// nothing is drawn that nobody read.
const longGap = 10.0

func (t teller) chart() *Chart {
	track := t.line.Track
	if len(track.Readings()) < 2 || t.line.Recording.End <= 0 {
		return nil
	}
	from, to := 0.0, t.line.Recording.End.Seconds()
	if len(t.made.Films()) > 0 {
		from = t.line.ShowFrom.Seconds()
	}
	_, farthest, known := t.w.Seen()
	if !known {
		return nil
	}
	c := &Chart{Width: 1000, Height: 190, Left: 64, Right: 988, Top: 14, Bottom: 156, From: from, To: to, Push: t.index}
	x := func(s float64) float64 { return c.Left + (s-from)/(to-from)*(c.Right-c.Left) }
	y := func(m float64) float64 { return c.Bottom - max(m, 0)/float64(farthest)*(c.Bottom-c.Top) }

	gap := longGap
	if t.w.FromLogOnly() {
		gap = -1 // single readings, far apart: dots alone
	}
	c.Lines = lines(track, x, y, gap, from, to)
	for i := range t.line.Observations {
		o := &t.line.Observations[i]
		m := o.Track
		if m == nil {
			m = o.Distance
		}
		if at := o.Video.Seconds(); m != nil && at >= from && at <= to {
			c.Dots = append(c.Dots, Dot{x(at), y(float64(*m)), o.Number, shortened(t.w.Label(o))})
		}
	}
	step := niceTime(to - from)
	for s := 0.0; from+s <= to; s += step { // counted as the player counts
		c.Ticks = append(c.Ticks, Tick{x(from + s), wording.Clock(timecode.VideoSeconds(s))})
	}
	c.Levels = []Row{{c.Bottom, t.w.Length(0), true}, {c.Top + 4, t.w.Length(farthest), false}}
	return c
}

// lines draws the readings, at most about two points a pixel: of more, the least
// and the greatest of each pixel, so that no peak is lost.
func lines(track *distance.Track, x, y func(float64) float64, gap, from, to float64) []string {
	var all []string
	var now strings.Builder
	count := 0
	end := func() {
		if count > 1 {
			all = append(all, now.String())
		}
		now.Reset()
		count = 0
	}
	var column, low, high float64
	lastTime := math.Inf(-1)
	put := func(px, py float64) { fmt.Fprintf(&now, "%.1f,%.1f ", px, py); count++ }
	for i, r := range track.Readings() {
		at := r.At.Seconds()
		if at < from || at > to {
			continue
		}
		px, py := math.Round(x(at)), y(float64(track.Place(i)))
		switch {
		case count == 0 || at-lastTime > gap:
			end()
			put(px, py)
			column, low, high = px, py, py
		case px == column && py >= low && py <= high:
		default:
			put(px, py)
			if px != column {
				column, low, high = px, py, py
			} else {
				low, high = math.Min(low, py), math.Max(high, py)
			}
		}
		lastTime = at
	}
	end()
	return all
}

func niceTime(seconds float64) float64 {
	for _, s := range []float64{1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600} {
		if seconds/s <= 9 {
			return s
		}
	}
	return 7200
}
