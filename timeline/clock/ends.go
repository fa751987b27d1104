package clock

import (
	"math"

	"pushcue/timeline/timecode"
)

// Ends is what is known of a part's clock at two moments of the log: by how many seconds
// it may have been ahead of the recording, as quantiles of equal shares.
type Ends struct {
	From, To      timecode.Log
	Before, After []float64 // ahead of From's and To's time on the recording, which counts from zero as Zero does
}

// FromEnds ties each part by what is known at two moments of it; nil leaves a part
// untied. zero is the log's moment from which both clocks' seconds are counted.
//
// Its lines go through a quantile of the one and one of the other: half of them
// through the same one, as if both were off alike, half through any, as if neither
// told of the other. What is known lies between.
func FromEnds(parts []Span, ends []*Ends, zero timecode.Log, basis Basis, o Options) *Fit {
	f := &Fit{Basis: basis, parts: parts, options: o, zero: zero}
	var groups [][]sighting
	var beliefs []belief
	for p, e := range ends {
		if p >= len(parts) || e == nil || len(e.Before) == 0 || len(e.After) == 0 {
			continue
		}
		b := e.belief(f)
		beliefs = append(beliefs, b)
		groups = append(groups, []sighting{{part: p, x: b.middle}})
	}
	f.lay(groups, beliefs)
	return f
}

func (e *Ends) belief(f *Fit) belief {
	from, to := f.secondsOf(e.From), f.secondsOf(e.To)
	middle := (from - mean(e.Before) + to - mean(e.After)) / 2
	b := belief{middle: middle}
	for k := range keptLines {
		u := vanDerCorput(k, 2)
		v := u
		if k%4 > 1 { // the pair's first digits would go along with the second of two
			v = vanDerCorput(k, 3)
		}
		before, after := quantile(e.Before, u), quantile(e.After, v)
		x, y := from-before, to-after
		rate := mostRate * (2*vanDerCorput(k, 3) - 1)
		if y-x > 1 {
			rate = min(max((after-before)/(y-x), -fastestClock), fastestClock)
		}
		b.lines = append(b.lines, line{(before+after)/2 + rate*(middle-(x+y)/2), rate})
	}
	for _, l := range b.lines {
		b.mean.offset += l.offset / keptLines
		b.mean.rate += l.rate / keptLines
	}
	return b
}

// fastestClock: no clock that tells the time runs faster or slower.
const fastestClock = 1500 * ppm

func mean(of []float64) (m float64) {
	for _, v := range of {
		m += v / float64(len(of))
	}
	return m
}

func quantile(of []float64, u float64) float64 {
	return of[min(len(of)-1, int(math.Floor(u*float64(len(of)))))]
}

// A Stretch is a tied stretch of the recording, and at which moments of it the log's
// clock showed a time by lines that are each as likely as the next: the nth of one
// stretch goes with the nth of the others. Such a moment may lie outside the stretch.
type Stretch struct {
	From, To timecode.Video
	At       []float64 // seconds of recording
}

// Stretches are those of a moment of the log's clock.
func (f *Fit) Stretches(l timecode.Log) (all []Stretch) {
	t := f.secondsOf(l)
	for i, s := range f.Segments {
		if !s.Tied {
			continue
		}
		one := Stretch{From: s.From, To: s.To}
		for _, line := range f.beliefs[i].lines {
			one.At = append(one.At, f.beliefs[i].recording(line, t))
		}
		all = append(all, one)
	}
	return all
}
