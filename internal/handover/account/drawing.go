package account

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
)

// A Drawing is the line laid open: the pipe's wall cut along its bottom and laid
// flat, distance from left to right, the clock position from the bottom over the
// left side, the top and the right side back to the bottom. Lengths are to scale.
type Drawing struct {
	Width, Height float64
	Wall          Box
	Right         float64 // where the wall ends
	Side          float64 // where the words beside it end
	Ticks         []Tick
	Rows          []Row
	Marks         []Mark
	Unseen        []Box  // parts of the line that the camera isn't known to have seen
	Text          string // for who can't see it
}

type Box struct{ X, Y, W, H float64 }

type Tick struct {
	X    float64
	Text string
}

// Row is one clock position written beside the wall.
type Row struct {
	Y    float64
	Text string
	Main bool
}

// Mark is an observation on the wall, with its number above.
type Mark struct {
	Number   int
	ID       string
	Title    string
	X        float64 // where it is on the wall
	LabelX   float64
	LabelY   float64
	Top      float64 // where the wall begins, for the thin line down
	Bottom   float64
	Boxes    []Box // covered wall; none: a line round the whole wall
	Decision bool
}

const (
	drawWidth  = 1000.0
	wallLeft   = 108.0
	wallRight  = 968.0
	wallHeight = 168.0
	lane       = 30.0
	badge      = 30.0 // width that a number needs
)

func (t teller) drawing() *Drawing {
	nearest, farthest, known := t.w.Seen()
	if !known {
		return nil
	}
	from, to := float64(nearest), float64(farthest)
	unit, perUnit := t.line.Sheet.Job.Units, 1.0
	if unit == distance.Foot {
		perUnit = float64(distance.PerFoot)
	}
	end := float64(t.w.Farthest()) / perUnit
	step := niceStep(end)
	scale := (wallRight - wallLeft) / (math.Ceil(end/step-1e-9) * step * perUnit)
	at := func(m float64) float64 { return wallLeft + m*scale }

	marks := t.marks(at)
	lanes := placeLabels(marks)
	top := 12 + float64(lanes)*lane
	out := &Drawing{Width: drawWidth, Height: top + wallHeight + 44, Wall: Box{wallLeft, top, wallRight - wallLeft, wallHeight}, Right: wallRight, Side: wallLeft - 8}
	for i := range marks {
		finishMark(&marks[i], top)
	}
	out.Marks = marks
	for i := 0; float64(i)*step*perUnit*scale <= wallRight-wallLeft+0.5; i++ {
		u := float64(i) * step
		out.Ticks = append(out.Ticks, Tick{at(u * perUnit), t.w.OnScale(u, step)})
	}
	out.Ticks[len(out.Ticks)-1].Text += " " + string(unit)
	for _, r := range []struct {
		clock float64
		key   string
		end   float64
	}{{6, "page-bottom", 0}, {9, "page-left", -1}, {12, "page-top", -1}, {3, "page-right", -1}, {6, "page-bottom", 1}} {
		y := r.end
		if y < 0 {
			y = across(r.clock)
		}
		out.Rows = append(out.Rows, Row{top + y*wallHeight, t.l.Say(r.key), r.clock == 12})
	}
	for _, x := range [][2]float64{{wallLeft, at(from)}, {at(to), wallRight}} {
		if x[1]-x[0] > 1 {
			out.Unseen = append(out.Unseen, Box{x[0], top, x[1] - x[0], wallHeight})
		}
	}
	out.Text = t.drawingHelp()
	if slices.ContainsFunc(marks, func(m Mark) bool { return m.Decision }) {
		out.Text += " " + t.l.Say("page-filled")
	}
	return out
}

func (t teller) drawingHelp() string {
	if dir := t.w.Travel(); dir != "" {
		return t.l.Say("page-line-help", dir)
	}
	return t.l.Say("page-line-help-plain")
}

// across is how far across the opened wall a clock position lies: 0 at the one
// bottom edge, 0.25 at 9, 0.5 at 12, 0.75 at 3.
func across(clock float64) float64 { return math.Mod(clock+6, 12) / 12 }

func (t teller) marks(at func(float64) float64) []Mark {
	var all []Mark
	for i := range t.line.Observations {
		o := &t.line.Observations[i]
		if o.Distance == nil {
			continue
		}
		m := Mark{Number: o.Number, ID: t.id(o.Number), X: at(max(float64(*o.Distance), 0)),
			Title:    shortened(t.w.Label(o)) + ", " + t.w.Where(o),
			Decision: o.Entry.Urgency == fieldlog.UrgencyRepair || o.Entry.Urgency == fieldlog.UrgencyAtOnce}
		if m.Decision { // what the filled number says to the eye
			m.Title += ", " + t.w.Advice(o.Entry)
		}
		width := 9.0
		if o.DistanceTo != nil {
			width = max(width, at(float64(*o.DistanceTo))-m.X)
		}
		m.Boxes = coverage(o.Entry.Clock, o.DistanceTo != nil, m.X, width)
		all = append(all, m)
	}
	return all
}

// coverage is the wall that an observation covers, still measured from the wall's
// own top: where no clock span is known, all round if it is a stretch, else nothing. A
// span that runs through the bottom comes as two boxes.
func coverage(span *fieldlog.ClockSpan, stretch bool, x, width float64) []Box {
	if span == nil {
		if !stretch {
			return nil
		}
		return []Box{{x, 0, width, wallHeight}}
	}
	from, to := across(span.From), across(span.To)
	const least = 0.06 // a single position is shown this much of the wall wide
	if to == from {
		from, to = from-least/2, to+least/2
	}
	if to < from {
		to++
	}
	var boxes []Box
	for _, piece := range [][2]float64{{from, math.Min(to, 1)}, {0, to - 1}, {1 + from, 1}} {
		lo, hi := math.Max(piece[0], 0), math.Min(piece[1], 1)
		if hi > lo {
			boxes = append(boxes, Box{x, lo * wallHeight, width, (hi - lo) * wallHeight})
		}
	}
	return boxes
}

// placeLabels gives each number a place of its own above the wall and returns how
// many rows of numbers that takes.
func placeLabels(marks []Mark) int {
	order := make([]int, len(marks))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool { return marks[order[a]].X < marks[order[b]].X })
	var ends []float64
	for _, i := range order {
		x := math.Min(math.Max(marks[i].X, wallLeft), wallRight-badge/2)
		at := len(ends)
		for j, end := range ends {
			if x-badge/2 >= end {
				at = j
				break
			}
		}
		if at == len(ends) {
			ends = append(ends, 0)
		}
		ends[at] = x + badge/2 + 2
		marks[i].LabelX, marks[i].LabelY = x, float64(at)
	}
	return max(len(ends), 1)
}

// finishMark moves a mark to where the wall came to lie; the first row of numbers
// stands next to the wall.
func finishMark(m *Mark, top float64) {
	m.LabelY = top - 18 - m.LabelY*lane
	m.Top, m.Bottom = top, top+wallHeight
	for i := range m.Boxes {
		m.Boxes[i].Y += top
	}
}

// niceStep is the length between two ticks: 1, 2 or 5 times a power of ten, so that
// there are about ten.
func niceStep(length float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(length/10)))
	for _, f := range []float64{1, 2, 5} {
		if length/(f*power) <= 10 {
			return f * power
		}
	}
	return 10 * power
}

// A Dial is one clock position or span as seen along the travel.
type Dial struct {
	Path         string // the covered arc
	X, Y         float64
	Point        bool
	Text, Travel string
}

// newDial draws on a face of radius 20 round 0,0.
func newDial(span fieldlog.ClockSpan) *Dial {
	x, y := onFace(span.From)
	if span.To == span.From {
		return &Dial{Point: true, X: x, Y: y}
	}
	x2, y2 := onFace(span.To)
	large := 0
	if math.Mod(span.To-span.From+12, 12) > 6 {
		large = 1
	}
	return &Dial{Path: fmt.Sprintf("M%.2f %.2fA20 20 0 %d 1 %.2f %.2f", x, y, large, x2, y2)}
}

func onFace(hour float64) (x, y float64) {
	a := hour / 12 * 2 * math.Pi
	return 20 * math.Sin(a), -20 * math.Cos(a)
}
