package belief

import (
	"math"
	"sort"
	"sync"
)

// A Habit is a law of how long after its moment a row is written.
type Habit struct {
	Late  float64 // median, seconds
	Share float64 // of writers, before anything of this one is known

	from, step float64
	below      []float64 // share of rows written by from + i·step: the cumulative distribution
	area       []float64 // its integral up to there
}

// How writers write (common practice, no published source): each to a median of their
// own, with a lognormal spread, since delays come about by steps that multiply; some
// rows are forgotten and written about a minute later. A prompt writer is as often a
// little early as late, and may put off some rows. reading is the noise of reading a
// clock and choosing a picture.
const (
	spread        = 0.8  // standard deviation of a delay's logarithm
	forgetShare   = 0.03 // of rows
	forgetMedian  = 50.0 // seconds
	forgetSpread  = 0.7
	putOffMedian  = 9.0
	promptNoise   = 0.7 // seconds, one standard deviation
	reading       = 0.3
	exactNoise    = 0.012 // half a frame, as one standard deviation
	beyondLag     = 0.002 // of the density is left beyond a lag that the job sheet gives
	longestDelay  = 300.0
	earliestDelay = -6.0
	tableStep     = 0.05
)

var writers = []struct {
	late, share float64
	putOff      float64 // share of rows
}{{0, 0.1, 0}, {0, 0.08, 0.2}, {1, 0.22, 0}, {2, 0.18, 0}, {3.5, 0.16, 0}, {6, 0.13, 0}, {10, 0.08, 0}, {18, 0.05, 0}}

// Habits are the laws that a writer may write by.
var Habits = sync.OnceValue(func() []Habit { return habits(math.Inf(1)) })

// HabitsWithin are the laws of a writer of whom it is known that rows are written at
// most lag seconds late; 0 stands for one who writes at the very moment.
func HabitsWithin(lag float64) []Habit {
	if lag > 0 {
		return habits(lag)
	}
	exact := Habit{Share: 1, from: -6 * exactNoise, step: exactNoise / 20}
	density := make([]float64, 240)
	for i := range density {
		s := exact.from + float64(i)*exact.step
		density[i] = math.Exp(-s * s / 2 / exactNoise / exactNoise)
	}
	exact.cumulate(density)
	return []Habit{exact}
}

func habits(lag float64) []Habit {
	var all []Habit
	for _, w := range writers {
		if w.late > lag {
			continue
		}
		h := Habit{Late: w.late, Share: w.share, from: earliestDelay, step: tableStep}
		density := make([]float64, int((longestDelay-earliestDelay)/tableStep))
		moment := func(i int) float64 { return earliestDelay + (float64(i)+0.5)*tableStep }
		usual := 1 - forgetShare - w.putOff
		for i := range density {
			if w.late > 0 {
				density[i] = usual * lognormal(moment(i), w.late, spread)
			}
			density[i] += forgetShare*lognormal(moment(i), forgetMedian, forgetSpread) + w.putOff*lognormal(moment(i), putOffMedian, spread)
			if moment(i) > lag {
				density[i] *= beyondLag
			}
		}
		density = blurred(density, reading/tableStep)
		if w.late == 0 {
			for i := range density {
				z := moment(i) / promptNoise
				density[i] += usual * math.Exp(-z*z/2) / promptNoise / math.Sqrt(2*math.Pi)
			}
		}
		h.cumulate(density)
		all = append(all, h)
	}
	return all
}

func lognormal(s, median, sd float64) float64 {
	if s <= 0 {
		return 0
	}
	z := math.Log(s/median) / sd
	return math.Exp(-z*z/2) / (s * sd * math.Sqrt(2*math.Pi))
}

// blurred is a density after Gaussian noise of that many cells.
func blurred(density []float64, sigma float64) []float64 {
	reach := int(4 * sigma)
	kernel := make([]float64, 2*reach+1)
	var sum float64
	for i := range kernel {
		z := float64(i-reach) / sigma
		kernel[i] = math.Exp(-z * z / 2)
		sum += kernel[i]
	}
	out := make([]float64, len(density))
	for i := range out {
		for k, w := range kernel {
			if j := i + k - reach; j >= 0 && j < len(density) {
				out[i] += w / sum * density[j]
			}
		}
	}
	return out
}

// cumulate makes the tables from a density, at the middle of each step.
func (h *Habit) cumulate(density []float64) {
	h.below, h.area = make([]float64, len(density)+1), make([]float64, len(density)+1)
	var sum float64
	for i, d := range density {
		sum += d
		h.below[i+1] = sum
	}
	for i := range h.below {
		h.below[i] /= sum
		if i > 0 {
			h.area[i] = h.area[i-1] + h.step*(h.below[i-1]+h.below[i])/2
		}
	}
}

// table is a table's value at s, linear between its entries; beyond is what it does
// past the end, for each second.
func (h *Habit) table(of []float64, s, beyond float64) float64 {
	x := (s - h.from) / h.step
	switch last := len(of) - 1; {
	case x <= 0:
		return 0
	case x >= float64(last):
		return of[last] + beyond*(x-float64(last))*h.step
	}
	i := int(x)
	return of[i] + (x-float64(i))*(of[i+1]-of[i])
}

// A law is a habit's law of delays of times that are written give or take half.
type law struct {
	from, step float64
	per        float64 // 1 / step
	below      []float64
}

// written is the law of times that were written give or take half seconds, all alike:
// the distribution's mean over that width.
func (h *Habit) written(half float64) *law {
	if half < h.step {
		return &law{h.from, h.step, 1 / h.step, h.below}
	}
	l := &law{from: h.from - half, step: h.step}
	if half > 8*h.step {
		l.step = 2 * h.step
	}
	l.per = 1 / l.step
	n := int((h.step*float64(len(h.below))+2*half)/l.step) + 1
	l.below = make([]float64, n)
	for i := range l.below {
		s := l.from + float64(i)*l.step
		l.below[i] = (h.table(h.area, s+half, 1) - h.table(h.area, s-half, 1)) / (2 * half)
	}
	return l
}

// by is the share of rows written by s seconds after their moment.
func (l *law) by(s float64) float64 {
	x := (s - l.from) * l.per
	if x <= 0 {
		return 0
	}
	i := int(x)
	if i >= len(l.below)-1 {
		return 1
	}
	return l.below[i] + (x-float64(i))*(l.below[i+1]-l.below[i])
}

// reach is the delays beyond which next to no row is written.
func (l *law) reach() (early, late float64) {
	return l.from, l.from + l.step*float64(len(l.below))
}

// quantile is the delay by which the share u of rows is written.
func (h *Habit) quantile(u float64) float64 {
	i := sort.SearchFloat64s(h.below, u)
	return h.from + float64(i)*h.step
}

// mixed is the law of a row of which the writer's habit isn't known.
func mixed(all []Habit) Habit {
	m := Habit{from: all[0].from, step: all[0].step, below: make([]float64, len(all[0].below)), area: make([]float64, len(all[0].area))}
	var sum float64
	for _, h := range all {
		sum += h.Share
	}
	for _, h := range all {
		for i := range m.below {
			m.below[i] += h.Share / sum * h.below[i]
			m.area[i] += h.Share / sum * h.area[i]
		}
	}
	return m
}
