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
func (l *Line) judge(r *reader, sights []sight, beside legend, o Options) {
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
	if beside.other != "" {
		l.Kind, l.Why = Odd, words.Tell("%s stands behind it", words.Quoted(beside.other))
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
	if hovers(read, cable) {
		l.Doubt = words.Tell("it keeps going up and down in a narrow range")
	}
}

// hovers reports whether the number goes back and forth within a small part of all the way
// that it goes, as a depth or a slope does. A camera that goes in and out again uses half.
func hovers(read []Sample, cable distance.Cable) bool {
	const (
		narrow = 0.25
		small  = 2.0 // in what it counts in: a range in which half the way is doubtful, too
	)
	at, low, high, way := 0.0, 0.0, 0.0, 0.0
	for i := 1; i < len(read); i++ {
		d := read[i].Value - read[i-1].Value
		if math.Abs(d) > float64(cable.Reach(read[i].At.Sub(read[i-1].At))) {
			continue // it was set anew
		}
		at += d
		way += math.Abs(d)
		low, high = min(low, at), max(high, at)
	}
	return high-low < narrow*way || high-low < small && high-low < 0.45*way
}

// Follow holds a line against how much the picture moved before each of its samples, in any
// measure: a cable counter changes while the camera moves. A line that doesn't isn't taken
// for the counter unless a person says so. A buckled cable or a stuck head part the two for
// a while, which is no reason to doubt the rest.
func (l *Line) Follow(motion []float64) {
	if l.Kind != Length || len(motion) != len(l.Samples) {
		return
	}
	const (
		lag     = 3    // samples on either side: a counter may be late
		fewest  = 15   // samples that go and that stay
		follows = 0.65 // 0.5 is chance
	)
	var goes, stays []float64
	for i := lag; i+lag < len(l.Samples); i++ {
		changes, known, most := false, true, 0.0
		for k := i - lag; k <= i+lag; k++ {
			s := &l.Samples[k]
			known = known && (s.State == AsShown || s.State == Filled)
			changes = changes || s.Value != l.Samples[i].Value
			most = max(most, motion[k])
		}
		switch {
		case known && changes:
			goes = append(goes, most)
		case known:
			stays = append(stays, most)
		}
	}
	if len(goes) < fewest || len(stays) < fewest {
		return
	}
	if moreOften(goes, stays) < follows {
		l.Doubt = words.Tell("it changes while the camera stands")
	}
}

// moreOften is how often one of some values is larger than one of others (the Mann-Whitney
// statistic over the number of pairs).
func moreOften(some, others []float64) float64 {
	slices.Sort(others)
	sum := 0
	for _, a := range some {
		below, _ := slices.BinarySearch(others, a)
		upTo, _ := slices.BinarySearchFunc(others, a, func(b, a float64) int {
			if b > a {
				return 1
			}
			return -1
		})
		sum += below + upTo
	}
	return float64(sum) / 2 / float64(len(some)*len(others))
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

// clockwork reports whether some place of the line changes at even intervals all the time,
// and mostly by the same step. A display that is refreshed once a second changes as evenly,
// but by as much as the cable went.
func (r *reader) clockwork(when func(int) timecode.Video, sights []sight) bool {
	const most = 12
	var last [most]int8
	var changed [most]float64
	var ticks [most][]float64
	var steps [most][10]int // by how many digits it went on
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
					steps[place][(r.signs[s.signs[k]].digit-r.signs[last[place]].digit+10)%10]++
				}
				changed[place] = at
			}
			last[place] = s.signs[k]
		}
		begun = true
	}
	for place, t := range ticks {
		if len(t) < fewestTicks || 10*slices.Max(steps[place][:]) < 7*len(t) {
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

// Choose picks the counter among lines; nil where none is one, where two are, or where it is
// doubtful whether the one is.
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
	if found != nil && !found.Doubt.Empty() {
		return nil
	}
	return found
}
