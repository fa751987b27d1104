package timeline

import (
	"fmt"
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
	leastEvidence = 20               // logarithm of the odds against all rows' being there by chance
	mostClaims    = 100              // more tell nothing new
	tempering     = 1.1              // the tails of how rows are written are drawn wide already
	sureWithin    = 6 * time.Second  // the interval's half-width, at most
	farOff        = 10 * time.Second // from the interval's middle
	sureShare     = 0.99             // of the belief lies no farther off
	longEnough    = 20 * time.Minute // for the rate to show beside how rows are written
	mostOffsets   = 1 << 20          // six days: further apart log and recording don't belong together
)

// The log may count its distances from another zero than the track. An even push
// would hide that behind another offset of the clock, so such zeros are tried too.
var (
	otherZeros     = []distance.Metres{-3, -2, -1.5, -1, -0.5, 0.5, 1, 1.5, 2, 3}
	otherZeroShare = 0.2
)

// An Agreement is how the log's clock was found by a part's track, or why not.
type Agreement struct {
	Part     string
	Sure     bool
	Offset   timecode.Log // the log's clock at the recording's zero
	Half     time.Duration
	Rows     int          // with a time and a distance, at places of their own
	Agreeing int          // of them, at Offset
	Next     timecode.Log // the next best offset; meaningless where Odds is +Inf
	Odds     float64      // for Offset against Next
	Why      string       // why it isn't sure; "" where it is

	halves []clock.Sight // what the earlier and the later rows say by themselves, of a long part
}

// tieByTrack ties each part by the agreement of the log's distances with the
// track, where one offset stands out.
func (r *resolver) tieByTrack() {
	if r.track == nil || !r.calendar.rows {
		return
	}
	starts := make([]clock.Start, len(r.spans))
	found := false
	for i, s := range r.spans {
		a := r.agreement(s)
		r.t.Agreements = append(r.t.Agreements, a)
		if a.Sure {
			starts[i] = clock.Start{At: timecode.Log(s.Start) + a.Offset, Half: a.Half, Known: true, Sights: a.halves}
			found = true
		}
	}
	if !found {
		return
	}
	r.t.Clock = clock.FromStarts(r.spans, starts, clock.Track, r.clockOptions())
	for _, a := range r.t.Agreements {
		if a.Sure {
			r.warn(Warning{Code: "clock-by-track",
				Text: "the log's clock was found by the agreement of its distances with the track: " + a.describe(),
				Hint: "add an [[anchor]] to be sure of it"})
		}
	}
}

// askForAnchor says that the log's clock can't be told by the track, and asks for
// one moment where nothing else ties it.
func (r *resolver) askForAnchor() {
	for _, a := range r.t.Agreements {
		if a.Sure {
			return
		}
	}
	for _, a := range r.t.Agreements {
		if a.Rows < 2 {
			continue
		}
		r.warn(Warning{Code: "clock-unsure", Open: r.t.Clock == nil,
			Text: "the log's clock can't be told from its distances: " + r.whyUnsure(a),
			Hint: fmt.Sprintf(`add one anchor, with the recording's time at which row %d was written: [[anchor]], row = %[1]d, video = "…"`, r.plainestRow()),
			Out:  Out{Row: r.plainestRow()}})
		return
	}
}

// plainestRow is the row that a person will most easily find again: of those with a
// time, the one whose distance the camera was at only once.
func (r *resolver) plainestRow() int {
	best, fewest := 0, math.MaxInt
	for i := range r.in.Log.Rows {
		row := &r.in.Log.Rows[i]
		if row.Time == nil || row.Distance == nil {
			continue
		}
		d := r.correction.Apply(row.Distance.Metres)
		if n := len(r.track.When(d, r.tolerance(row.Distance))); n > 0 && n < fewest || best == 0 {
			best, fewest = row.Number, n
		}
	}
	return best
}

// whyUnsure names what speaks against each offset, as times of the first picture.
func (r *resolver) whyUnsure(a Agreement) string {
	if a.Next == 0 {
		return a.Why
	}
	return fmt.Sprintf("%s; it may have shown %s at the first picture, or %s", a.Why, r.clockFace(a.Offset), r.clockFace(a.Next))
}

func (r *resolver) clockFace(l timecode.Log) string {
	if r.calendar.elapsed {
		return timecode.FormatSpan(time.Duration(l).Round(time.Second))
	}
	return l.Time(r.zone).Format(time.TimeOnly)
}

// describe tells how well an offset is borne out.
func (a Agreement) describe() string {
	text := fmt.Sprintf("%d of %d rows bear it out, give or take %s", a.Agreeing, a.Rows, about(a.Half))
	switch {
	case math.IsInf(a.Odds, 1):
		return text + ", and nothing else does"
	case a.Odds > 1e6:
		return text + "; the next best is more than a million times less likely"
	}
	return text + fmt.Sprintf("; the next best is %.0f times less likely", a.Odds)
}

// agreement is the offset, log clock less video time, at which the track bears out
// most rows within one part; sure only where it stands out.
func (r *resolver) agreement(part clock.Span) Agreement {
	claims := r.claims(part, 0)
	a := Agreement{Part: part.Name, Rows: len(claims)}
	if len(claims) < leastAgreeing {
		a.Why = fmt.Sprintf("%d rows with a time and a distance are too few", len(claims))
		return a
	}
	first, cells, ok := r.offsets(part)
	if !ok {
		a.Why = "its times are spread over too many days"
		return a
	}
	length := max(time.Minute, part.End.Sub(part.Start))
	return r.standsOut(a, r.belief(claims, part, first, cells, length), claims, first, part, length)
}

// offsets are those that are tried for a part, offsetStep apart from first on;
// false where there would be too many.
func (r *resolver) offsets(part clock.Span) (first timecode.Log, cells int, ok bool) {
	first = r.calendar.first - timecode.Log(part.End) - timecode.Log(longestLate)
	last := r.calendar.last - timecode.Log(part.Start) + timecode.Log(longestLate)
	cells = int((last-first)/timecode.Log(offsetStep)) + 1
	return first, cells, cells <= mostOffsets
}

// standsOut completes an agreement by how far one offset stands out among all.
func (r *resolver) standsOut(a Agreement, belief []float64, claims []claim, first timecode.Log, part clock.Span, length time.Duration) Agreement {
	offsetOf := func(cell float64) timecode.Log { return first + timecode.Log(cell*float64(offsetStep)) }
	best, next, odds := peaks(belief)
	a.Odds = odds
	if next >= 0 {
		a.Next = offsetOf(float64(next))
	}
	from, to, ok := interval(belief)
	if !ok {
		a.Offset, a.Why = offsetOf(float64(best)), "no offset of it stands out"
		return a
	}
	a.Offset = offsetOf(float64(from+to) / 2)
	a.Half = time.Duration(max(1, to-from)) * offsetStep / 2
	a.Agreeing, a.Sure = r.borneOut(claims, a.Offset, part, length)
	if !a.Sure {
		a.Next, a.Why = 0, fmt.Sprintf("only %d of %d rows agree where most do", a.Agreeing, a.Rows)
	}
	if a.Sure && part.End.Sub(part.Start) >= longEnough {
		a.halves = halves(claims, a.Offset, length)
	}
	return a
}

// halves ask the earlier and the later rows by themselves for the offset near the
// one that all of them agree on: what lies between the two is the clock's rate. nil
// where either has too little to say.
func halves(claims []claim, offset timecode.Log, length time.Duration) (sights []clock.Sight) {
	ordered := slices.Clone(claims)
	slices.SortStableFunc(ordered, func(a, b claim) int { return int(min(max(a.log-b.log, -1), 1)) })
	const cells = int(2*farOff/offsetStep) + 1
	first := offset - timecode.Log(farOff)
	for _, half := range [][]claim{ordered[:len(ordered)/2], ordered[len(ordered)/2:]} {
		if len(half) < 2*leastAgreeing {
			return nil
		}
		from, to := quantiles(relative(evidence(half, first, cells, length)))
		if from == 0 || to == cells-1 {
			return nil
		}
		var sum timecode.Log
		for _, c := range half {
			sum += c.log - offset
		}
		at := timecode.Video(sum / timecode.Log(len(half)))
		sights = append(sights, clock.Sight{
			Video: at, Log: timecode.Log(at) + first + timecode.Log(from+to)*timecode.Log(offsetStep)/2,
			Half: time.Duration(max(1, to-from)) * offsetStep / 2,
		})
	}
	return sights
}

// belief is the logarithm of how well each offset explains the claims, whatever zero
// the log counts its distances from.
func (r *resolver) belief(claims []claim, part clock.Span, first timecode.Log, cells int, length time.Duration) []float64 {
	belief := evidence(claims, first, cells, length)
	for i := range belief {
		belief[i] += math.Log(1 - otherZeroShare)
	}
	for _, zero := range otherZeros {
		share := math.Log(otherZeroShare / float64(len(otherZeros)))
		for i, s := range evidence(r.claims(part, zero), first, cells, length) {
			belief[i] = logSum(belief[i], s+share)
		}
	}
	return belief
}

// peaks are the best offset, the best that lies far from it (-1 for none), and how
// many times likelier the first is.
func peaks(belief []float64) (best, next int, odds float64) {
	next = -1
	for i, b := range belief {
		if b > belief[best] {
			best = i
		}
	}
	far := int(2 * farOff / offsetStep)
	for i, b := range belief {
		if (i < best-far || i > best+far) && (next < 0 || b > belief[next]) {
			next = i
		}
	}
	if next < 0 {
		return best, next, math.Inf(1)
	}
	return best, next, math.Exp(belief[best] - belief[next])
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
func (r *resolver) borneOut(claims []claim, offset timecode.Log, part clock.Span, length time.Duration) (agreeing int, ok bool) {
	inside := 0
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
	return agreeing, agreeing >= leastAgreeing && float64(agreeing) >= agreeingShare*float64(fair)
}

// interval is where 95 % of the belief lies; ok where that is narrow, and next to
// nothing lies far from it.
func interval(belief []float64) (from, to int, ok bool) {
	top := slices.Max(belief)
	belief = relative(belief)
	var total float64
	for _, b := range belief {
		total += b
	}
	if top+math.Log(total/float64(len(belief))) < leastEvidence {
		return 0, 0, false
	}
	from, to = quantiles(belief)
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

// relative turns logarithms of belief into belief, the most of it being one.
func relative(logs []float64) []float64 {
	top := slices.Max(logs)
	belief := make([]float64, len(logs))
	for i, l := range logs {
		belief[i] = math.Exp(l - top)
	}
	return belief
}

// quantiles are the cells between which 95 % of the belief lies.
func quantiles(belief []float64) (from, to int) {
	var total, sum float64
	for _, b := range belief {
		total += b
	}
	from = -1
	for i, b := range belief {
		sum += b
		if from < 0 && sum >= 0.025*total {
			from = i
		}
		if sum <= 0.975*total {
			to = i + 1
		}
	}
	return from, min(to, len(belief)-1)
}

// logSum is log(exp a + exp b).
func logSum(a, b float64) float64 {
	a, b = max(a, b), min(a, b)
	return a + math.Log1p(math.Exp(b-a))
}
