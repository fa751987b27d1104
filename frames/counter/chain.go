package counter

import (
	"math"

	"pushcue/timeline/distance"
)

const farBack = 200 // runs that are looked back for the one before

// throwOut keeps the longest chain of readings that a cable, a recorder that was paused
// and a person who sets the counter can have made, and marks the others: a digit
// misread, or one ahead of the others lost for a while.
func (r *reader) throwOut(samples []Sample, o Options) {
	step := math.Pow10(-r.grid.decimals)
	cable := cableOf(o, r.grid.decimals)
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
		return math.Abs(read[b].Value-read[a].Value) <= distance.Slack*float64(cable.Reach(read[b].At.Sub(read[a].At)))
	}
	all := runs(len(read), reached)
	chain := distance.Heaviest(all, farBack, func(a, b distance.Run) (cost int, ok bool) {
		waited := read[b.First].At.Sub(read[a.Last].At)
		if reached(a.Last, b.First) || cable.AtZero(distance.Metres(read[b.First].Value), waited) {
			return 0, true
		}
		return distance.KeptAfterOther, leapt(read[a.Last], read[b.First:b.Last+1], step)
	})
	kept := make([]bool, len(read))
	for _, run := range chain {
		for i := all[run].First; i <= all[run].Last; i++ {
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
	if len(after) < distance.KeptAfterOther {
		return false
	}
	low, high := after[0].Value, after[0].Value
	for _, s := range after {
		low, high = min(low, s.Value), max(high, s.Value)
	}
	off := math.Abs(math.Remainder(after[0].Value-before.Value, 10))
	return high-low > 1.5 && off > max(10*step, 0.5)
}

// runs cuts the readings where one can't follow the one before it. A run counts for a
// reading less than it has, so that a reading alone doesn't count as being set to zero.
func runs(n int, reached func(a, b int) bool) (all []distance.Run) {
	from := 0
	for i := 1; i <= n; i++ {
		if i == n || !reached(i-1, i) {
			all = append(all, distance.Run{First: from, Last: i - 1, Weight: i - from - distance.KeptAfterZero})
			from = i
		}
	}
	return all
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
