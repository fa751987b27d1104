package timeline

import (
	"math"
	"time"

	"pushcue/timeline/clock"
	"pushcue/timeline/distance"
	"pushcue/timeline/timecode"
)

// The log's clock can be found from its distances alone: at the right offset the
// track shows each row's distance at the row's time or shortly before. Rows are
// weighed so (common practice, no published source; measured on made pushes):
const (
	offsetStep    = 500 * time.Millisecond
	leastAgreeing = 5                // fewer rows fall together by chance
	usualLateness = 8 * time.Second  // rows are written late, each some seconds
	longestLate   = 30 * time.Second // unless the job sheet says longer
	strayRow      = 0.05             // a row's weight where the track doesn't bear it out
	tempering     = 0.5              // rows late together aren't independent witnesses
	sureWithin    = 12 * time.Second
	sureShare     = 0.98
	mostOffsets   = 1 << 20 // six days: further apart log and recording don't belong together
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

// A claim is a row's say on the offset: log time at which it was written, and
// when the track shows its distance.
type claim struct {
	log    timecode.Log
	half   time.Duration
	passes []distance.Pass
}

// agreement is the offset, log clock less video time, at which the track bears
// out most rows within one part; ok false unless it stands out.
func (r *resolver) agreement(part clock.Span) (offset timecode.Log, half time.Duration, ok bool) {
	claims := r.claims(part)
	if len(claims) < leastAgreeing {
		return 0, 0, false
	}
	first := r.calendar.first - timecode.Log(part.End) - timecode.Log(longestLate)
	last := r.calendar.last - timecode.Log(part.Start) + timecode.Log(longestLate)
	cells := int((last-first)/timecode.Log(offsetStep)) + 1
	if cells > mostOffsets {
		return 0, 0, false
	}
	score, agreeing := make([]float64, cells), make([]int, cells)
	row := make([]float64, cells) // best weight of one row
	for _, c := range claims {
		c.weigh(row, first, max(r.sheet.Log.Lag, longestLate), func(cell int, weight float64) {
			score[cell] += tempering * math.Log(1+weight/strayRow)
			if weight > 0.2 {
				agreeing[cell]++
			}
		})
	}
	top := 0
	for i := range score {
		if score[i] > score[top] {
			top = i
		}
	}
	if agreeing[top] < leastAgreeing || 2*agreeing[top] < len(claims) {
		return 0, 0, false
	}
	from, to, ok := interval(score, top)
	middle := first + timecode.Log(from+to)*timecode.Log(offsetStep)/2
	return middle, time.Duration(to-from+1) * offsetStep / 2, ok
}

// claims are the rows with a time and a distance that the track shows in the part.
func (r *resolver) claims(part clock.Span) []claim {
	var claims []claim
	for i := range r.in.Log.Rows {
		row := &r.in.Log.Rows[i]
		if row.Time == nil || row.Distance == nil {
			continue
		}
		c := claim{log: row.Time.Log, half: row.Time.Half}
		for p := range r.track.Passes(r.correction.Apply(row.Distance.Metres), r.tolerance(row.Distance), part.Start, part.End) {
			if !p.About {
				c.passes = append(c.passes, p)
			}
		}
		claims = append(claims, c)
	}
	return claims
}

// weigh tells for each offset how well the row bears it out: fully where the
// camera was there at the row's time, less and less the later the row was
// written. Of several passes the best counts. best is scratch, zero before and after.
func (c claim) weigh(best []float64, first timecode.Log, longest time.Duration, tell func(cell int, weight float64)) {
	var touched []int
	for _, p := range c.passes {
		from := c.log.Add(-c.half-longest) - timecode.Log(p.To)
		to := c.log.Add(c.half) - timecode.Log(p.From)
		for o := (from - first) / timecode.Log(offsetStep); o <= (to-first)/timecode.Log(offsetStep); o++ {
			cell := int(o)
			if cell < 0 || cell >= len(best) {
				continue
			}
			late := c.log.Sub(first+o*timecode.Log(offsetStep)) - time.Duration(p.To) - c.half
			weight := math.Exp(-max(0, late.Seconds()) / usualLateness.Seconds())
			if !p.Stood {
				weight /= 2
			}
			if best[cell] == 0 {
				touched = append(touched, cell)
			}
			best[cell] = max(best[cell], weight)
		}
	}
	for _, cell := range touched {
		tell(cell, best[cell])
		best[cell] = 0
	}
}

// interval is where 95 % of the belief lies; ok unless other offsets are nearly as good.
func interval(score []float64, top int) (from, to int, ok bool) {
	total, nearTop := 0.0, 0.0
	within := int(sureWithin / offsetStep)
	for i, s := range score {
		belief := math.Exp(s - score[top])
		total += belief
		if i >= top-within && i <= top+within {
			nearTop += belief
		}
	}
	if nearTop < sureShare*total {
		return 0, 0, false
	}
	from, to = -1, top
	sum := 0.0
	for i, s := range score {
		sum += math.Exp(s - score[top])
		if from < 0 && sum >= 0.025*total {
			from = i
		}
		if sum <= 0.975*total {
			to = i + 1
		}
	}
	return from, min(to, len(score)-1), true
}
