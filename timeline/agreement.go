package timeline

import (
	"math"
	"time"

	"pushcue/timeline/belief"
	"pushcue/timeline/clock"
	"pushcue/timeline/codes"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// The log's clock can be found from its distances alone: at the right offset the
// track shows each row's distance at the row's time or shortly before. It ties a part
// where all but a two-hundredth of the belief lies within sureWithin.
const (
	sureWithin     = 10 * time.Second
	sureShare      = 0.995
	clockQuantiles = 256
)

// An Agreement is how the log's clock was found by a part's track, or why not.
type Agreement struct {
	Part     string
	Sure     bool
	Offset   timecode.Log // the log's clock at the recording's zero
	Half     time.Duration
	Rows     int            // with a time and a distance, at places of their own
	Agreeing int            // of them, that bear Offset out
	Odds     float64        // that it lies near Offset
	Why      words.Sentence // why it isn't sure; "" where it is
}

// tieByTrack ties each part whose clock the rows tell well enough.
func (r *resolver) tieByTrack() {
	if r.track == nil || !r.calendar.rows || r.belief == nil || len(r.belief.Clock) == 0 {
		return
	}
	ends := make([]*clock.Ends, len(r.spans))
	found := false
	for i, s := range r.spans {
		tied := r.belief.Clock[i]
		a := r.agreement(s.Name, tied)
		r.t.Agreements = append(r.t.Agreements, a)
		if a.Sure {
			found, ends[i] = true, &clock.Ends{
				From: r.calendar.first + timecode.LogSeconds(tied.From), Before: tied.First.Quantiles(clockQuantiles),
				To: r.calendar.first + timecode.LogSeconds(tied.To), After: tied.Last.Quantiles(clockQuantiles)}
		}
	}
	if !found {
		return
	}
	r.t.Clock = clock.FromEnds(r.spans, ends, r.calendar.first, clock.Track, r.clockOptions())
	for _, a := range r.t.Agreements {
		if a.Sure {
			r.warn(Warning{Code: codes.ClockByTrack,
				Text: words.Tell("the log's clock was found by the agreement of its distances with the track: %s", a.describe()),
				Hint: words.Tell("add an [[anchor]] to be sure of it")})
		}
	}
}

// agreement tells how well a part's clock is known.
func (r *resolver) agreement(part string, tied belief.Tied) Agreement {
	a := Agreement{Part: part}
	for i := range r.question.Rows {
		row, p := &r.question.Rows[i], &r.belief.Rows[i]
		if row.Timed && row.Placed && !row.Repeats {
			a.Rows++
			if p.Typo+p.Astray+p.Lost < 0.5 {
				a.Agreeing++
			}
		}
	}
	switch {
	case a.Rows == 0:
		a.Why = words.Tell("no row has both a time and a distance")
	case a.Rows == 1:
		a.Why = words.Tell("one row with a time and a distance is too few")
	case len(tied.First) == 0:
		a.Why = words.Tell("no offset of it stands out")
	}
	if !a.Why.Empty() {
		return a
	}
	all := tied.All.Quantiles(clockQuantiles)
	middle := all[clockQuantiles/2]
	near := tied.All.Within(middle, sureWithin.Seconds())
	a.Offset = r.calendar.first + timecode.LogSeconds(middle)
	a.Half = time.Duration(max(middle-all[clockQuantiles/40], all[clockQuantiles-1-clockQuantiles/40]-middle) * float64(time.Second))
	a.Odds = near / max(1e-12, 1-near)
	if a.Sure = near >= sureShare; !a.Sure {
		a.Why = words.Tell("no offset of it stands out")
	}
	return a
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
			Text: words.Tell("the log's clock can't be told from its distances: %s", a.Why),
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

func (r *resolver) clockFace(l timecode.Log) string {
	if r.calendar.elapsed {
		return timecode.FormatSpan(time.Duration(l).Round(time.Second))
	}
	return l.Time(r.zone).Format(time.TimeOnly)
}

// describe tells how well an offset is borne out.
func (a Agreement) describe() words.Sentence {
	if a.Odds > 1e6 {
		return words.Tell("%d of %d rows bear it out, give or take %s, and nothing else does", a.Agreeing, a.Rows, about(a.Half))
	}
	return words.Tell("%d of %d rows bear it out, give or take %s; the next best is %.0f times less likely", a.Agreeing, a.Rows, about(a.Half), a.Odds)
}
