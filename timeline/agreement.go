package timeline

import (
	"math"
	"slices"
	"time"

	"pushcue/timeline/clock"
	"pushcue/timeline/distance"
	"pushcue/timeline/timecode"
)

// The log's clock can be found from its distances alone: at the right offset the
// track shows each row's distance at the row's time or shortly before. An offset
// is believed only where nothing else explains the rows as well. The limits are
// ours, set on made pushes other than those that the tests judge.
const (
	offsetStep    = 500 * time.Millisecond
	leastAgreeing = 5                // fewer rows fall together by chance
	agreeingShare = 0.65             // of the rows, at least: a log of another push reaches half
	agreeingOdds  = 10               // against the row's being there by chance
	leastEvidence = 16               // logarithm of the odds against all rows' being there by chance
	mostClaims    = 100              // more tell nothing new
	tempering     = 0.85             // rows late together aren't independent witnesses
	sureWithin    = 6 * time.Second  // the interval's half-width, at most
	farOff        = 10 * time.Second // from the interval's middle
	sureShare     = 0.99             // of the belief lies no farther off
	mostOffsets   = 1 << 20          // six days: further apart log and recording don't belong together
)

// The log may count its distances from another zero than the track. An even push
// would hide that behind another offset of the clock, so such zeros are tried too.
var (
	otherZeros     = []distance.Metres{-3, -2, -1.5, -1, -0.5, 0.5, 1, 1.5, 2, 3}
	otherZeroShare = 0.2
)

// tieByTrack ties each part by the agreement of the log's distances with the
// track, where one offset stands out.
func (r *resolver) tieByTrack() {
	if r.track == nil || !r.calendar.rows {
		return
	}
	starts := make([]clock.Start, len(r.spans))
	found := false
	for i, s := range r.spans {
		if o, half, ok := r.agreement(s); ok {
			starts[i] = clock.Start{At: timecode.Log(s.Start) + o, Half: half, Known: true}
			found = true
		}
	}
	if !found {
		return
	}
	r.t.Clock = clock.FromStarts(r.spans, starts, clock.Track, r.clockOptions())
	r.warn(Warning{Code: "clock-by-track",
		Text: "the log's clock was found by the agreement of its distances with the track; nothing else ties it to the recording",
		Hint: "add an [[anchor]] to be sure of it"})
}

// agreement is the offset, log clock less video time, at which the track bears
// out most rows within one part; ok false unless it stands out.
func (r *resolver) agreement(part clock.Span) (offset timecode.Log, half time.Duration, ok bool) {
	claims := r.claims(part, 0)
	if len(claims) < leastAgreeing {
		return 0, 0, false
	}
	first := r.calendar.first - timecode.Log(part.End) - timecode.Log(longestLate)
	last := r.calendar.last - timecode.Log(part.Start) + timecode.Log(longestLate)
	cells := int((last-first)/timecode.Log(offsetStep)) + 1
	if cells > mostOffsets {
		return 0, 0, false
	}
	length := max(time.Minute, part.End.Sub(part.Start))
	score := evidence(claims, first, cells, length)
	belief := slices.Clone(score)
	for i := range belief {
		belief[i] += math.Log(1 - otherZeroShare)
	}
	for _, zero := range otherZeros {
		share := math.Log(otherZeroShare / float64(len(otherZeros)))
		for i, s := range evidence(r.claims(part, zero), first, cells, length) {
			belief[i] = logSum(belief[i], s+share)
		}
	}
	from, to, ok := interval(belief)
	if !ok {
		return 0, 0, false
	}
	offset = first + timecode.Log(from+to)*timecode.Log(offsetStep)/2
	return offset, time.Duration(to-from+1) * offsetStep / 2, r.borneOut(claims, offset, part, length)
}

// evidence is the logarithm of how much better each offset explains the claims
// than their being there by chance.
func evidence(claims []claim, first timecode.Log, cells int, length time.Duration) []float64 {
	score, row := make([]float64, cells), make([]float64, cells)
	for _, c := range claims {
		var touched []int
		for _, p := range c.passes {
			from := int((c.log - timecode.Log(p.To) - timecode.Log(longestLate) - first) / timecode.Log(offsetStep))
			to := int((c.log - timecode.Log(p.From) + timecode.Log(c.early()) - first) / timecode.Log(offsetStep))
			for cell := max(0, from); cell <= min(to, cells-1); cell++ {
				if row[cell] == 0 {
					touched = append(touched, cell)
				}
				row[cell] += c.density(p, first+timecode.Log(cell)*timecode.Log(offsetStep))
			}
		}
		for _, cell := range touched {
			score[cell] += tempering * math.Log1p(row[cell]*length.Seconds()*(1-strayShare)/strayShare)
			row[cell] = 0
		}
	}
	return score
}

// borneOut says whether enough of the rows that an offset puts into the part
// agree with it.
func (r *resolver) borneOut(claims []claim, offset timecode.Log, part clock.Span, length time.Duration) bool {
	inside, agreeing := 0, 0
	for _, c := range claims {
		at := timecode.Video(c.log - offset)
		if at >= part.Start && at < part.End {
			inside++
		}
		var density float64
		for _, p := range c.passes {
			density += c.density(p, offset)
		}
		if density*length.Seconds()*(1-strayShare) > agreeingOdds*strayShare {
			agreeing++
		}
	}
	fair := max(inside, len(claims)/len(r.spans))
	return agreeing >= leastAgreeing && float64(agreeing) >= agreeingShare*float64(fair)
}

// interval is where 95 % of the belief lies; ok where that is narrow, and next to
// nothing lies far from it.
func interval(belief []float64) (from, to int, ok bool) {
	top := slices.Max(belief)
	var total float64
	for i, b := range belief {
		belief[i] = math.Exp(b - top)
		total += belief[i]
	}
	if top+math.Log(total/float64(len(belief))) < leastEvidence {
		return 0, 0, false
	}
	from, to = -1, 0
	var sum float64
	for i, b := range belief {
		sum += b
		if from < 0 && sum >= 0.025*total {
			from = i
		}
		if sum <= 0.975*total {
			to = i + 1
		}
	}
	to = min(to, len(belief)-1)
	if to-from >= int(2*sureWithin/offsetStep) {
		return from, to, false
	}
	var near float64
	far := int(farOff / offsetStep)
	for i := max(0, (from+to)/2-far); i <= min((from+to)/2+far, len(belief)-1); i++ {
		near += belief[i]
	}
	return from, to, near >= sureShare*total
}

// logSum is log(exp a + exp b).
func logSum(a, b float64) float64 {
	a, b = max(a, b), min(a, b)
	return a + math.Log1p(math.Exp(b-a))
}
