package distance

import (
	"slices"
	"time"
)

// What is believed of a cable and its counter: how far the number can have come between
// two readings, and what it takes to believe that the counter was set anew. Reading the
// counter off the picture and making a track of its readings both go by it.
//
// DefaultFastest is common practice, no published source. The other limits are our choice,
// made on recordings that we made ourselves (scripts/bench counter): no published source.
const (
	// Slack is by how much a reading off the picture may lie beyond the cable's reach. A
	// recorder writes its number late, and by different amounts.
	Slack = 1.5
	// nearZero is how near to zero a counter shows just after it was set to zero.
	nearZero Metres = 0.35
	// longestZeroing is the longest time that is allowed for the cable to go on between a
	// setting to zero and the first reading after it.
	longestZeroing = 1500 * time.Millisecond
	// ofTheSame is how far apart two readings of a standing counter may lie, rounding and a
	// last digit misread included.
	ofTheSame Metres = 0.15
	// usualPace is how fast a cable is pushed as a rule, in metres a second.
	usualPace = 0.5
	// slipWithin is for how long a misread number lasts at most, as a rule.
	slipWithin = time.Second
	// rezeroedCount and rezeroedFor are from when on readings that agree with each other
	// aren't a slip of reading.
	rezeroedCount = 5
	rezeroedFor   = 2 * time.Second
)

// What it takes to believe that a counter was set anew, in readings on which the cable
// can have gone on from there. Setting it to zero is common, setting it to anything else is
// rare, and digits that are taken for others jump, too.
const (
	// For keeping a reading at all: a reading that is thrown out can't be looked at again.
	KeptAfterZero  = 1
	KeptAfterOther = 25 // also after a pause of the recorder
	// For telling people that the counter was set anew.
	toldAfterZero  = 10
	toldAfterOther = 80
)

// A Cable limits how the number of a counter changes. Its measures are metres, or
// whatever the counter counts in.
type Cable struct {
	Fastest Metres // a second, that anybody pushes or pulls
	Step    Metres // of the counter
}

// Reach is how far two readings can lie apart: the cable's way, and the counter's step.
func (c Cable) Reach(waited time.Duration) Metres {
	return c.Step + c.Fastest*Metres(waited.Seconds())
}

// AtZero reports whether a counter can show this after it was set to zero some time since
// the reading before.
func (c Cable) AtZero(shown Metres, waited time.Duration) bool {
	return shown.Abs() <= c.Reach(min(waited, longestZeroing))
}

// A Run is readings in a row of which each can follow the one before it.
type Run struct {
	First, Last int // readings
	Weight      int // what it counts for: its readings, in the caller's measure
}

// Heaviest returns the chain of runs, by their indices, whose weights less the costs of
// going on from one to the next are the most. A run follows one of the back runs before it.
// Of equal chains the one that ends last is taken.
func Heaviest(runs []Run, back int, goOn func(before, after Run) (cost int, possible bool)) []int {
	best, from := make([]int, len(runs)), make([]int, len(runs))
	last := -1
	for i, r := range runs {
		from[i] = -1
		for k := max(0, i-back); k < i; k++ {
			if best[k] <= best[i] {
				continue
			}
			if cost, possible := goOn(runs[k], r); possible && best[k]-cost > best[i] {
				best[i], from[i] = best[k]-cost, k
			}
		}
		best[i] += r.Weight
		if last < 0 || best[i] >= best[last] {
			last = i
		}
	}
	var chain []int
	for i := last; i >= 0; i = from[i] {
		chain = append(chain, i)
	}
	slices.Reverse(chain)
	return chain
}
