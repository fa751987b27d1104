package distance

import (
	"time"

	"pushcue/timeline/timecode"
)

// A Reset is a moment at which the counter was set anew: what it shows from then
// on counts from another place. What it shows before and after is told apart.
type Reset struct {
	Before, After timecode.Video // the last reading before, the first one after
	From, To      Metres         // what the counter showed then, uncorrected
	Place         *Metres        // where the head was then, if somebody says so: distances go on from there
}

// A KnownReset is where the head was, along the line, when the counter was set anew.
type KnownReset struct {
	At    timecode.Video
	Place Metres
}

// resetWithin is how near to a setting of the counter somebody's word for it must be.
const resetWithin = 5 * time.Second

// settle joins what follows a reset to what was before it, where somebody says where
// the head was; shown is the first reading after it, corrected.
func (t *Track) settle(r *Reset, known []KnownReset, shown Metres) {
	offset := Metres(0)
	for _, k := range known {
		if k.At >= r.Before.Add(-resetWithin) && k.At <= r.After.Add(resetWithin) {
			r.Place = &k.Place
			offset = k.Place - shown
		}
	}
	t.offsets = append(t.offsets, offset)
}

// Offset is what is added at v to what the counter shows, corrected, since it was set
// anew before.
func (t *Track) Offset(v timecode.Video) Metres {
	if t == nil {
		return 0
	}
	for i := len(t.resets) - 1; i >= 0; i-- {
		if v >= t.resets[i].After {
			return t.offsets[i]
		}
	}
	return 0
}

// A block is readings that follow each other as a counter does, single slips of
// reading left out, for long enough that they are no slip themselves.
type block = Run

const (
	mostSlips  = 5 // in a row
	mostBlocks = 4000
)

// findResets tells between which readings the counter was set anew: each result is
// the first reading after. w and u are as bounds gives them.
func findResets(rs []Reading, places []Metres, w, u []float64) []int {
	blocks := solid(rs, places, w, u)
	if len(blocks) < 2 || len(blocks) > mostBlocks {
		return nil
	}
	follows := func(a, b int) bool { return w[b] >= w[a] && u[b] <= u[a] }
	var row []block
	for _, i := range Heaviest(blocks, len(blocks), func(before, after Run) (cost int, possible bool) {
		if follows(before.Last, after.First) {
			return 0, true
		}
		return price(rs[before.Last].Shown, rs[after.First].Shown)
	}) {
		row = append(row, blocks[i])
	}
	var resets []int
	for _, stretch := range withoutExcursions(stretches(row, follows), rs)[1:] {
		resets = append(resets, stretch.First)
	}
	return resets
}

// price is what a jump costs, in the weight of readings (two each). One from just below ten
// or a hundred to zero is what a counter looks like whose first digit isn't seen: it's
// never believed.
func price(from, to Metres) (cost int, possible bool) {
	if to.Abs() > nearZero {
		return 2 * toldAfterOther, true
	}
	for _, unit := range []Metres{1, PerFoot} {
		for _, round := range []Metres{10, 100, 1000} {
			if (from - round*unit).Abs() < 2*nearZero*unit {
				return 0, false
			}
		}
	}
	return 2 * toldAfterZero, true
}

// solid joins runs across single slips and keeps what lasts.
func solid(rs []Reading, places []Metres, w, u []float64) []block {
	var all []block
	for _, r := range cutRuns(rs, places, w, u) {
		joined := false
		for k := len(all) - 1; k >= 0 && k >= len(all)-mostSlips; k-- {
			b := &all[k]
			if rs[r.first].At.Sub(rs[b.Last].At) > slipWithin {
				break
			}
			if w[r.first] >= w[b.Last] && u[r.first] <= u[b.Last] {
				b.Last, b.Weight = r.last, b.Weight+r.weight
				all = all[:k+1] // what lies between was a slip
				joined = true
				break
			}
		}
		if !joined {
			all = append(all, block{First: r.first, Last: r.last, Weight: r.weight})
		}
	}
	kept := all[:0]
	for _, b := range all {
		if b.Last-b.First+1 >= rezeroedCount && rs[b.Last].At.Sub(rs[b.First].At) >= rezeroedFor {
			kept = append(kept, b)
		}
	}
	return kept
}

// stretches joins blocks of a row that follow each other without a jump.
func stretches(row []block, follows func(a, b int) bool) []block {
	var out []block
	for _, b := range row {
		if n := len(out); n > 0 && follows(out[n-1].Last, b.First) {
			out[n-1].Last, out[n-1].Weight = b.Last, out[n-1].Weight+b.Weight
			continue
		}
		out = append(out, b)
	}
	return out
}

// withoutExcursions leaves out stretches that the counter jumps to and back from,
// by the same length or to the same place: nobody sets a counter so, but a digit that
// is taken for another looks like that for as long as it's shown.
func withoutExcursions(ss []block, rs []Reading) []block {
	for i := 1; i+1 < len(ss); {
		before, from, to, after := rs[ss[i-1].Last], rs[ss[i].First], rs[ss[i].Last], rs[ss[i+1].First]
		there, back := from.Shown-before.Shown, after.Shown-to.Shown
		waited := from.At.Sub(before.At) + after.At.Sub(to.At)
		allowed := ofTheSame + min(0.2*there.Abs(), Metres(usualPace*waited.Seconds()))
		if (there+back).Abs() > allowed && (after.Shown-before.Shown).Abs() > allowed {
			i++
			continue
		}
		joined := block{First: ss[i-1].First, Last: ss[i+1].Last, Weight: ss[i-1].Weight + ss[i+1].Weight}
		ss = append(append(ss[:i-1:i-1], joined), ss[i+2:]...)
		i = max(1, i-1)
	}
	return ss
}
