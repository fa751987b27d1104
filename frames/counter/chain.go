package counter

import "math"

// A stretch is readings one after the other, each of which the cable could have
// reached from the one before.
type stretch struct {
	from, to int // among the readings; to is beyond
	best     int // most readings in a chain that ends with this stretch
	before   int // the one before it in that chain; -1 for none
}

const farBack = 200 // stretches that are looked back for the one before

// leap is how many readings a chain gives up for going on where no cable could have
// got: after a pause of the recorder, or a counter set by hand to what isn't zero. It is
// also how many the stretch that it goes on with has at least.
const leap = 25

// throwOut keeps the longest chain of readings that a cable, a recorder that was paused
// and a person who sets the counter can have made, and marks the others: a digit
// misread, or one ahead of the others lost for a while.
func (r *reader) throwOut(samples []Sample, o Options) {
	step, perSecond := math.Pow10(-r.grid.decimals), unitsPerSecond(o)
	var read []*Sample
	for i := range samples {
		if samples[i].State == AsShown {
			read = append(read, &samples[i])
		}
	}
	if len(read) == 0 {
		return
	}
	reached := func(a, b int) bool {
		reach := step + perSecond*read[b].At.Sub(read[a].At).Seconds()
		return math.Abs(read[b].Value-read[a].Value) <= 1.5*reach
	}
	zeroed := func(a, b int) bool { // set to zero in between, and gone on
		dt := min(read[b].At.Sub(read[a].At).Seconds(), farthest)
		return math.Abs(read[b].Value) <= step+perSecond*dt
	}
	all := stretches(len(read), reached)
	last := chain(all, func(a, b *stretch) (cost int, ok bool) {
		if reached(a.to-1, b.from) || zeroed(a.to-1, b.from) {
			return 0, true
		}
		return leap, leapt(read[a.to-1], read[b.from:b.to], step)
	})
	kept := make([]bool, len(read))
	for s := last; s >= 0; s = all[s].before {
		for i := all[s].from; i < all[s].to; i++ {
			kept[i] = true
		}
	}
	for i, s := range read {
		if !kept[i] {
			s.State = Thrown
		}
	}
}

// leapt tells whether the number may have gone on elsewhere: for long, and over more than
// a digit misread could hide. One ahead of the others, lost or misread, is whole tens off.
func leapt(before *Sample, after []*Sample, step float64) bool {
	if len(after) < leap {
		return false
	}
	low, high := after[0].Value, after[0].Value
	for _, s := range after {
		low, high = min(low, s.Value), max(high, s.Value)
	}
	off := math.Abs(math.Remainder(after[0].Value-before.Value, 10))
	return high-low > 1.5 && off > max(10*step, 0.5)
}

func stretches(n int, reached func(a, b int) bool) (all []stretch) {
	from := 0
	for i := 1; i <= n; i++ {
		if i == n || !reached(i-1, i) {
			all = append(all, stretch{from: from, to: i, before: -1})
			from = i
		}
	}
	return all
}

// chain finds the chain with most readings, by its last stretch. One reading is what
// a stretch costs, so that a reading alone doesn't count as being set to zero.
// What going on from one to the next costs, follows tells.
func chain(all []stretch, follows func(a, b *stretch) (cost int, ok bool)) (last int) {
	for i := range all {
		s := &all[i]
		for j := max(0, i-farBack); j < i; j++ {
			before := &all[j]
			if before.best <= s.best {
				continue
			}
			if cost, ok := follows(before, s); ok && before.best-cost > s.best {
				s.best, s.before = before.best-cost, j
			}
		}
		s.best += s.to - s.from - 1
		if s.best >= all[last].best {
			last = i
		}
	}
	return last
}

// doubtSigns leaves out readings that may be below zero where no minus was ever made
// out: the number goes down to zero and straight up again, as it does when the head
// passes the place where it was set to zero. All before that, from such a turn before on,
// may be below, however the head went there.
func (r *reader) doubtSigns(samples []Sample) {
	if r.minus.model != nil {
		return
	}
	var read []int
	for i := range samples {
		if samples[i].State == AsShown {
			read = append(read, i)
		}
	}
	step := math.Pow10(-r.grid.decimals)
	value := func(k int) float64 { return samples[read[k]].Value }
	farthest, from := 0.0, 0 // since the last turn
	for k := 1; k+1 < len(read); k++ {
		farthest = max(farthest, value(k-1))
		down := value(k-1) - value(k)
		setAnew := down > max(10*step, 0.5)
		between := value(k) <= down+step && value(k) <= value(k+1) // zero was passed between two looks
		if down <= 0 || setAnew || value(k) > 2*step && !between {
			continue
		}
		after := k
		for after+1 < len(read) && value(after+1) <= 2*step {
			after++
		}
		if samples[read[after]].At.Sub(samples[read[k]].At).Seconds() > longestAtZero || after+1 == len(read) {
			continue
		}
		if farthest <= farthestBelow {
			for i := read[from]; i < read[k]; i++ {
				samples[i].State = Unread
			}
		}
		farthest, from = 0, k
	}
}

// farthestBelow is how far below zero a number is at most, in what it counts in: the
// counter is set to zero where the head enters the pipe, an arm's length or a shaft from
// where it was laid down. From memory, no published source.
const farthestBelow = 15

// longestAtZero is for how many seconds the number is at zero at most when it passes it.
const longestAtZero = 1.5
