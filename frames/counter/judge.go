package counter

import (
	"math"
	"slices"

	"pushcue/timeline/distance"
)

// judge says what kind of line it is.
func (l *Line) judge(r *reader, o Options) {
	if r.grid.colon || r.grid.points > 1 {
		l.Kind, l.Why = Time, "it is written as a time or a date is"
		return
	}
	var read []Sample
	for _, s := range l.Samples {
		if s.State == AsShown {
			read = append(read, s)
		}
	}
	if len(read) < 8 || len(read)*5 < len(l.Samples) {
		l.Kind, l.Why = Nothing, "too little of it can be read"
		return
	}
	values := map[float64]int{}
	for _, s := range read {
		values[s.Value]++
	}
	if len(values) < 3 {
		l.Kind, l.Why = Still, "it hardly changes"
		return
	}
	if steady(read) {
		l.Kind, l.Why = Time, "it runs as evenly as a clock"
		return
	}
	fastest := o.Fastest
	if fastest <= 0 {
		fastest = distance.DefaultFastest
	}
	limit := float64(fastest)
	if o.Unit == distance.Foot {
		limit /= float64(distance.PerFoot)
	}
	step := math.Pow10(-l.Decimals)
	bad := 0
	for i := 1; i < len(read); i++ {
		reach := step + 3.3*limit*read[i].At.Sub(read[i-1].At).Seconds() // feet go faster than metres
		if math.Abs(read[i].Value-read[i-1].Value) > reach {
			bad++
		}
	}
	if bad*12 > len(read) {
		l.Kind, l.Why = Odd, "it jumps as no cable does"
		return
	}
	l.Kind, l.Why = Length, "it counts up and down with stops, as a cable counter does"
}

// steady tells whether values run straight on in time, as those of a clock do: a
// cable goes by fits and starts. Over stretches of two seconds a clock's speed is
// always the same.
func steady(read []Sample) bool {
	var speeds []float64
	for i, j := 0, 0; j < len(read); j++ {
		for read[j].At.Sub(read[i].At).Seconds() > 2.4 {
			i++
		}
		if dt := read[j].At.Sub(read[i].At).Seconds(); dt > 1.6 {
			speeds = append(speeds, (read[j].Value-read[i].Value)/dt)
		}
	}
	if len(speeds) < 8 {
		return false
	}
	middle := median(speeds)
	if middle == 0 {
		return false
	}
	near := 0
	for _, v := range speeds {
		if math.Abs(v-middle) < 0.4*math.Abs(middle) {
			near++
		}
	}
	return near*10 > 8*len(speeds)
}

func median(v []float64) float64 {
	p := append([]float64(nil), v...)
	slices.Sort(p)
	return p[len(p)/2]
}

// Choose picks the counter among lines; nil where none is one, or where two are.
func Choose(lines []*Line) *Line {
	var found *Line
	for _, l := range lines {
		if l.Kind != Length {
			continue
		}
		if found != nil {
			return nil
		}
		found = l
	}
	return found
}
