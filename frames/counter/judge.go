package counter

import (
	"math"
	"slices"
	"strings"

	"pushcue/timeline/distance"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// judge says what kind of line it is.
func (l *Line) judge(r *reader, sights []sight, o Options) {
	if r.grid.colon || r.grid.points > 1 {
		l.Kind, l.Why = Time, words.Tell("it is written as a time or a date is")
		return
	}
	var read []Sample
	thrown := 0
	for _, s := range l.Samples {
		switch s.State {
		case AsShown, Filled:
			read = append(read, s)
		case Thrown:
			thrown++
		}
	}
	if len(read) < 8 || len(read)*8 < len(l.Samples) {
		l.Kind, l.Why = Nothing, words.Tell("too little of it can be read")
		return
	}
	values := map[float64]int{}
	for _, s := range read {
		values[s.Value]++
	}
	if len(values) < 3 {
		l.Kind, l.Why = Still, words.Tell("it hardly changes")
		return
	}
	if r.clockwork(l.strips.At, sights) || steady(read) || sixties(read, l.Decimals) {
		l.Kind, l.Why = Time, words.Tell("it runs as evenly as a clock")
		return
	}
	if !r.confirmed {
		l.Kind, l.Why = Odd, words.Tell("which digit is which isn't sure")
		return
	}
	cable := cableOf(o, l.Decimals)
	bad := 0
	for i := 1; i < len(read); i++ {
		if math.Abs(read[i].Value-read[i-1].Value) > float64(cable.Reach(read[i].At.Sub(read[i-1].At))) {
			bad++
		}
	}
	if bad*25 > len(read) {
		l.Kind, l.Why = Odd, words.Tell("it jumps as no cable does")
		return
	}
	if thrown*8 > len(read) {
		l.Kind, l.Why = Odd, words.Tell("it jumps as no cable does")
		return
	}
	if dropsDigit(read, cable) {
		l.Kind, l.Why = Odd, words.Tell("a digit ahead of the others isn't made out")
		return
	}
	l.Kind, l.Why = Length, words.Tell("it counts up and down with stops, as a cable counter does")
}

// dropsDigit tells whether the number goes on from 9.9 at 0.0, or from 99.9, and no
// number was ever read that has a digit more.
func dropsDigit(read []Sample, cable distance.Cable) bool {
	most := 0
	for _, s := range read {
		most = max(most, s.whole())
	}
	full := math.Pow10(most)
	for i := 1; i < len(read); i++ {
		a, b := math.Abs(read[i-1].Value), math.Abs(read[i].Value)
		reach := float64(cable.Reach(read[i].At.Sub(read[i-1].At)))
		if math.Abs(a-b) > reach && full-max(a, b)+min(a, b) <= reach {
			return true
		}
	}
	return false
}

// whole is how many digits stand ahead of the point.
func (s *Sample) whole() int {
	whole, _, _ := strings.Cut(strings.TrimPrefix(s.Text, "-"), ".")
	return len(whole)
}

const (
	fewestTicks = 6
	tickSlack   = 0.35 // seconds: what looking several times a second blurs
)

// clockwork tells whether some place of the line changes at even intervals all
// the time, whatever its digits are. A person's pushing never does.
func (r *reader) clockwork(when func(int) timecode.Video, sights []sight) bool {
	const most = 12
	var last [most]int8
	var changed [most]float64
	var ticks [most][]float64
	begun, first, end := false, 0.0, 0.0
	for i := range sights {
		s := &sights[i]
		if !s.clear() {
			continue
		}
		at := when(i).Seconds()
		if !begun {
			first = at
		}
		end = at
		for k := range s.signs {
			place := len(s.signs) - 1 - k // from the right
			if place >= most {
				continue
			}
			if begun && last[place] != s.signs[k] {
				if changed[place] > 0 {
					ticks[place] = append(ticks[place], at-changed[place])
				}
				changed[place] = at
			}
			last[place] = s.signs[k]
		}
		begun = true
	}
	for _, t := range ticks {
		if len(t) < fewestTicks {
			continue
		}
		middle, covered, even := median(t), 0.0, 0
		for _, v := range t {
			covered += v
			if math.Abs(v-middle) < max(tickSlack, 0.1*middle) {
				even++
			}
		}
		if middle > 2*tickSlack && 2*covered > end-first && even*20 >= 17*len(t) {
			return true
		}
	}
	return false
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

// sixties tells whether the last two digits go on from 59 at 00, as seconds do.
func sixties(read []Sample, decimals int) bool {
	scale, wraps := math.Pow10(decimals), 0
	for i, s := range read {
		steps := int(math.Round(math.Abs(s.Value) * scale))
		if steps%100 >= 60 {
			return false
		}
		if i > 0 && steps/100 > int(math.Round(math.Abs(read[i-1].Value)*scale))/100 {
			wraps++
		}
	}
	return wraps > 0
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
