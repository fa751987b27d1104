package timeline

import (
	"math"
	"slices"
	"time"

	"pushcue/timeline/clock"
	"pushcue/timeline/codes"
	"pushcue/timeline/distance"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
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
	fastestClock  = 1500e-6          // no clock that tells the time runs faster or slower
	fewRates      = 4                // tried on either side at least
	closer        = 1.2              // than that, the tails, once it's known that the rows are of this push
	noMatter      = 9                // logarithm of odds that nobody would bet on
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
	Rows     int            // with a time and a distance, at places of their own
	Agreeing int            // of them, at Offset
	Next     timecode.Log   // the next best offset; meaningless where Odds is +Inf
	Odds     float64        // for Offset against Next
	Why      words.Sentence // why it isn't sure; "" where it is

	ways *clock.Likely // in which the clock may run; nil where it isn't sure
}

// tieByTrack ties each part by the agreement of the log's distances with the
// track, where one offset stands out.
func (r *resolver) tieByTrack() {
	if r.track == nil || !r.calendar.rows {
		return
	}
	ways := make([]*clock.Likely, len(r.spans))
	found := false
	for i, s := range r.spans {
		a := r.agreement(s)
		r.t.Agreements = append(r.t.Agreements, a)
		if a.Sure {
			ways[i], found = a.ways, true
		}
	}
	if !found {
		return
	}
	r.t.Clock = clock.FromLikely(r.spans, ways, clock.Track, r.clockOptions())
	for _, a := range r.t.Agreements {
		if a.Sure {
			r.warn(Warning{Code: codes.ClockByTrack,
				Text: words.Tell("the log's clock was found by the agreement of its distances with the track: %s", a.describe()),
				Hint: words.Tell("add an [[anchor]] to be sure of it")})
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
		r.warn(Warning{Code: codes.ClockUnsure, Unsettled: r.t.Clock == nil,
			Text: words.Tell("the log's clock can't be told from its distances: %s", r.whyUnsure(a)),
			Hint: words.Tell(`add one anchor, with the recording's time at which row %d was written: [[anchor]], row = %[1]d, video = "…"`, r.plainestRow()),
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
func (r *resolver) whyUnsure(a Agreement) words.Sentence {
	if a.Next == 0 {
		return a.Why
	}
	return words.Tell("%s; it may have shown %s at the first picture, or %s", a.Why, r.clockFace(a.Offset), r.clockFace(a.Next))
}

func (r *resolver) clockFace(l timecode.Log) string {
	if r.calendar.elapsed {
		return timecode.FormatSpan(time.Duration(l).Round(time.Second))
	}
	return l.Time(r.zone).Format(time.TimeOnly)
}

// describe tells how well an offset is borne out.
func (a Agreement) describe() words.Sentence {
	switch {
	case math.IsInf(a.Odds, 1):
		return words.Tell("%d of %d rows bear it out, give or take %s, and nothing else does", a.Agreeing, a.Rows, about(a.Half))
	case a.Odds > 1e6:
		return words.Tell("%d of %d rows bear it out, give or take %s; the next best is more than a million times less likely", a.Agreeing, a.Rows, about(a.Half))
	}
	return words.Tell("%d of %d rows bear it out, give or take %s; the next best is %.0f times less likely", a.Agreeing, a.Rows, about(a.Half), a.Odds)
}

// agreement is the offset, log clock less video time, at which the track bears out
// most rows within one part; sure only where it stands out.
func (r *resolver) agreement(part clock.Span) Agreement {
	zeros := r.zeros(part)
	a := Agreement{Part: part.Name, Rows: len(zeros[0].claims)}
	if a.Rows < leastAgreeing {
		a.Why = tooFew(a.Rows)
		return a
	}
	first, cells, ok := r.offsets(part)
	if !ok {
		a.Why = words.Tell("its times are spread over too many days")
		return a
	}
	return r.standsOut(a, zeros, first, cells, part)
}

func tooFew(rows int) words.Sentence {
	switch rows {
	case 0:
		return words.Tell("no row has both a time and a distance")
	case 1:
		return words.Tell("one row with a time and a distance is too few")
	}
	return words.Tell("%d rows with a time and a distance are too few", rows)
}

// offsets are those that are tried for a part, offsetStep apart from first on;
// false where there would be too many.
func (r *resolver) offsets(part clock.Span) (first timecode.Log, cells int, ok bool) {
	first = r.calendar.first - timecode.Log(part.End) - timecode.Log(longestLate)
	last := r.calendar.last - timecode.Log(part.Start) + timecode.Log(longestLate)
	cells = int((last-first)/timecode.Log(offsetStep)) + 1
	return first, cells, cells <= mostOffsets
}

// standsOut completes an agreement by how far one offset stands out among all, the
// first of the zeros being the usual one.
func (r *resolver) standsOut(a Agreement, zeros []zero, first timecode.Log, cells int, part clock.Span) Agreement {
	length := max(time.Minute, part.End.Sub(part.Start))
	belief := belief(zeros, first, cells, length)
	offsetOf := func(cell float64) timecode.Log { return first + timecode.Log(cell*float64(offsetStep)) }
	best, next, odds := peaks(belief)
	a.Odds = odds
	if next >= 0 {
		a.Next = offsetOf(float64(next))
	}
	from, to, ok := interval(belief)
	if !ok {
		a.Offset, a.Why = offsetOf(float64(best)), words.Tell("no offset of it stands out")
		return a
	}
	a.Offset = offsetOf(float64(from+to) / 2)
	a.Half = time.Duration(max(1, to-from)) * offsetStep / 2
	a.Agreeing, a.Sure = r.borneOut(zeros[0].claims, a.Offset, part, length)
	if !a.Sure {
		a.Next, a.Why = 0, words.Tell("only %d of %d rows agree where most do", a.Agreeing, a.Rows)
		return a
	}
	return running(a, zeros, part, length)
}

// running completes an agreement by the rates at which the log's clock may run: sure
// only where it is told well enough at both ends of the part.
func running(a Agreement, zeros []zero, part clock.Span, length time.Duration) Agreement {
	a.ways = ways(a.Offset, zeros, part, length)
	fit := clock.FromLikely([]clock.Span{part}, []*clock.Likely{a.ways}, clock.Track, clock.Options{})
	first, early, ok := fit.Log(part.Start)
	_, late, _ := fit.Log(part.End)
	a.Half = max(early, late)
	a.Sure = ok && a.Half <= sureWithin
	if !a.Sure {
		a.Next, a.Why = 0, words.Tell("how fast it runs isn't told by its rows, so that it's known to %s only", about(a.Half))
		return a
	}
	a.Offset = first - timecode.Log(part.Start)
	return a
}

// ways are how well the offsets near one and the rates explain the claims of a part,
// from whatever zero they are counted.
func ways(offset timecode.Log, zeros []zero, part clock.Span, length time.Duration) *clock.Likely {
	const cells = int(4*farOff/offsetStep) + 1
	middle := (part.Start + part.End) / 2
	first := offset - timecode.Log(2*farOff)
	w := &clock.Likely{Middle: middle, First: first + timecode.Log(middle), Step: timecode.Log(offsetStep), Rates: ratesFor(length)}
	zeros = telling(zeros, first, cells, length)
	for _, rate := range w.Rates {
		var logs []float64
		for _, z := range zeros {
			for i, e := range evidence(runningAt(z.claims, rate, offset, middle), first, cells, length) {
				if len(logs) <= i {
					logs = append(logs, math.Inf(-1))
				}
				logs[i] = logSum(logs[i], closer*e+z.share)
			}
		}
		w.Logs = append(w.Logs, logs)
	}
	return w
}

// ratesFor are those that may show over a part of that length.
func ratesFor(length time.Duration) (rates []float64) {
	steps := int(math.Ceil(max(fewRates, fastestClock*length.Seconds()/2/offsetStep.Seconds())))
	for i := -steps; i <= steps; i++ {
		rates = append(rates, fastestClock*float64(i)/float64(steps))
	}
	return rates
}

// runningAt are the claims as they would be if the log's clock, that runs at a rate,
// didn't: with offset at middle.
func runningAt(claims []claim, rate float64, offset timecode.Log, middle timecode.Video) []claim {
	straight := slices.Clone(claims)
	for i, c := range claims {
		after := (c.log - offset).Seconds() - middle.Seconds()
		straight[i].log -= timecode.LogSeconds(rate * after)
	}
	return straight
}

// A zero is one that the log may count its distances from.
type zero struct {
	claims []claim
	share  float64 // logarithm of how likely it is beforehand
}

// telling are the zeros that explain the offsets from first on next to as well as the
// best of them does.
func telling(zeros []zero, first timecode.Log, cells int, length time.Duration) (best []zero) {
	tops := make([]float64, len(zeros))
	for i, z := range zeros {
		tops[i] = z.share + slices.Max(evidence(z.claims, first, cells, length))
	}
	for i, z := range zeros {
		if tops[i] > slices.Max(tops)-noMatter {
			best = append(best, z)
		}
	}
	return best
}

// zeros are all that are tried, the log's own as it stands first.
func (r *resolver) zeros(part clock.Span) []zero {
	all := []zero{{r.claims(part, 0), math.Log(1 - otherZeroShare)}}
	for _, d := range otherZeros {
		all = append(all, zero{r.claims(part, d), math.Log(otherZeroShare / float64(len(otherZeros)))})
	}
	return all
}

// belief is the logarithm of how well each offset explains the rows, whatever zero
// the log counts its distances from.
func belief(zeros []zero, first timecode.Log, cells int, length time.Duration) []float64 {
	belief := make([]float64, cells)
	for i := range belief {
		belief[i] = math.Inf(-1)
	}
	for _, z := range zeros {
		for i, s := range evidence(z.claims, first, cells, length) {
			belief[i] = logSum(belief[i], s+z.share)
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
	if math.IsInf(b, -1) {
		return a
	}
	return a + math.Log1p(math.Exp(b-a))
}
