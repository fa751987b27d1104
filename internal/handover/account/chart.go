package account

import (
	"fmt"
	"math"
	"strings"

	"pushcue/timeline/document"
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

func (t teller) chart(d *document.Document) *Chart {
	rs := d.Distance.Readings
	if len(rs) < 2 || d.Recording.Duration <= 0 {
		return nil
	}
	from, to := 0.0, d.Recording.Duration
	if f := Films(d); len(f) > 0 && d.Handover != nil {
		from = d.Handover.VideoOffset
	}
	_, farthest, known := seen(d)
	if !known {
		return nil
	}
	c := &Chart{Width: 1000, Height: 190, Left: 64, Right: 988, Top: 14, Bottom: 156, From: from, To: to, Push: t.index}
	x := func(s float64) float64 { return c.Left + (s-from)/(to-from)*(c.Right-c.Left) }
	y := func(m float64) float64 { return c.Bottom - math.Max(m, 0)/farthest*(c.Bottom-c.Top) }

	gap := longGap
	if d.Distance.Basis != nil && *d.Distance.Basis == "log" {
		gap = -1 // single readings, far apart: dots alone
	}
	c.Lines = lines(rs, x, y, gap, from, to)
	for i, o := range d.Observations {
		m := o.Track
		if m == nil {
			m = o.Distance
		}
		if m != nil && o.Video >= from && o.Video <= to {
			c.Dots = append(c.Dots, Dot{x(o.Video), y(*m), o.Number, shortened(t.w.Label(&t.w.Timeline().Observations[i]))})
		}
	}
	step := niceTime(to - from)
	for s := math.Ceil(from/step) * step; s <= to; s += step {
		c.Ticks = append(c.Ticks, Tick{x(s), Clock(s)})
	}
	c.Levels = []Row{{c.Bottom, t.length(0), true}, {c.Top + 4, t.length(farthest), false}}
	return c
}

// lines draws the readings, at most about two points a pixel: of more, the least
// and the greatest of each pixel, so that no peak is lost.
func lines(rs []document.Reading, x, y func(float64) float64, gap, from, to float64) []string {
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
	for _, r := range rs {
		if r.Video < from || r.Video > to {
			continue
		}
		px, py := math.Round(x(r.Video)), y(r.Distance)
		switch {
		case count == 0 || r.Video-lastTime > gap:
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
		lastTime = r.Video
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
