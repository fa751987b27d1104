package timeline

import (
	"fmt"
	"slices"
	"time"

	"pushcue/timeline/clock"
	"pushcue/timeline/codes"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// A Stand is a time during which the pictures stand still, whatever the counter showed.
type Stand struct{ From, To timecode.Video }

// standsHelpFrom is the ± from which it's worth looking for where the camera stood.
const standsHelpFrom = 2 * time.Second

// StandsWouldHelp tells whether rows would be placed better if it were known when
// the camera stood: where no distance tells it, and the log's clock leaves room or
// isn't tied at all.
func (t *Timeline) StandsWouldHelp() bool {
	if t.independent || t.Log == nil {
		return false
	}
	times := 0
	for i := range t.Log.Rows {
		if t.Log.Rows[i].Time != nil {
			times++
		}
	}
	if (t.Clock == nil || t.Clock.Basis == clock.FileTimes) && times >= leastByStands {
		return true
	}
	return slices.ContainsFunc(t.Observations, func(o Observation) bool {
		return o.Basis.byClock() && o.Uncertainty >= standsHelpFrom
	})
}

func (b Basis) byClock() bool {
	return b == ByAnchor || b == ByStart || b == ByTrack || b == ByFileTime
}

// leastByStands is how many rows with a time it takes to find the log's clock from
// the stands alone.
const leastByStands = 8

// proposeByStands proposes when the log's clock showed what, where the times at
// which rows were written fit the moments at which the camera stood. It's a guess
// from pictures alone, so it ties nothing: a person has to say yes.
func (r *resolver) proposeByStands() {
	tied := r.t.Clock != nil && r.t.Clock.Basis != clock.FileTimes
	if tied || r.track != nil || len(r.in.Stands) < leastByStands/2 || !r.calendar.rows {
		return
	}
	q, b := r.question, r.belief
	if r.t.Clock != nil {
		q, b = r.ask(nil)
	}
	rows := 0
	for i := range q.Rows {
		if q.Rows[i].Timed {
			rows++
		}
	}
	if rows < leastByStands || len(b.Clock) == 0 {
		return
	}
	for i, part := range r.spans {
		tied := b.Clock[i]
		if len(tied.First) == 0 {
			continue
		}
		all := tied.All.Quantiles(clockQuantiles)
		middle := all[clockQuantiles/2]
		near := tied.All.Within(middle, sureWithin.Seconds())
		if near < sureShare {
			continue
		}
		a := Agreement{Part: part.Name, Rows: rows, Odds: near / max(1e-12, 1-near),
			Half: time.Duration((all[clockQuantiles-7] - all[6]) / 2 * float64(time.Second))}
		for i := range b.Rows {
			if at := b.Rows[i].At(); slices.ContainsFunc(r.in.Stands, func(s Stand) bool { return s.From.Seconds() <= at && at <= s.To.Seconds() }) {
				a.Agreeing++
			}
		}
		face := r.clockFace(r.calendar.first + timecode.LogSeconds(middle) + timecode.Log(part.Start))
		line := fmt.Sprintf(`starts = "%s" under [recording]`, face)
		if i > 0 {
			line = fmt.Sprintf(`[[anchor]], log = "%s", video = "0:00", part = "%s"`, face, part.Name)
		}
		r.warn(Warning{Code: codes.ClockProposed, Unsettled: r.t.Clock == nil,
			Text: words.Tell("%s: the times in the log fit the moments at which the camera stood if its clock showed %s at the first picture: %s. That's a guess from the pictures alone, and nothing was placed by it", part.Name, face, a.describe()),
			Hint: words.Tell("if you can confirm it, add: %s", line),
			Out:  Out{Tie: &Tie{Log: face, Half: a.Half, Video: part.Start}}})
	}
}
