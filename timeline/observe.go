package timeline

import (
	"pushcue/timeline/clock"
	"pushcue/timeline/codes"
	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// observe puts a placed row on its frame.
func (r *resolver) observe(row *fieldlog.Row, p place) Observation {
	frame, at, until := r.t.FrameAt(p.at)
	o := Observation{
		Row: row.Number, Frame: frame, Video: at, Basis: p.basis, Why: p.why, Entry: row,
		Uncertainty: max(p.half, until.Sub(at)/2),
		Unconfirmed: r.unconfirmed && (p.track || r.onlyTrackTies(p)),
	}
	o.Sure = p.sure || o.Uncertainty < sureWithin && (p.basis == ByVideo || p.basis == ByPerson)
	if o.Earliest, o.Latest = p.earliest, p.latest; o.Latest == 0 {
		o.Earliest, o.Latest = at.Add(-o.Uncertainty), at.Add(o.Uncertainty)
	}
	o.Earliest, o.Latest = max(0, min(o.Earliest, at)), min(r.in.Recording.End, max(o.Latest, until))
	if point := r.track.At(at); point.State >= distance.Filled {
		o.Track = &point.Metres
	}
	if row.Distance != nil {
		own := r.correction.Apply(row.Distance.Metres) + r.track.Offset(at)
		o.Distance = &own
	} else if o.Track != nil {
		own := *o.Track
		o.Distance = &own
	}
	if row.To != nil {
		to := r.correction.Apply(row.To.Metres) + r.track.Offset(at)
		o.DistanceTo = &to
		o.VideoEnd = r.reaches(row.To, at)
	}
	if p.timed {
		if when, ok := r.t.TrueTime(at); ok {
			o.TrueTime = &when
		}
	}
	if at < r.t.ShowFrom || at >= r.t.ShowTo {
		o.Hidden = true
		r.warn(Warning{Code: codes.OutsideShown, Row: row.Number,
			Text: words.Tell("row %d lies at %s, outside what is shown (%s to %s): it gets no still, clip or cue", row.Number, at, r.t.ShowFrom, r.t.ShowTo),
			Hint: words.Tell("widen show_from and show_to, if the customer should see it")})
	}
	return o
}

// reaches is when the camera first came to a stretch's end after its start; nil
// where the track doesn't show it.
func (r *resolver) reaches(to *distance.Length, after timecode.Video) *timecode.Video {
	for pass := range r.track.Passes(r.correction.Apply(to.Metres), r.tolerance(to), after, r.in.Recording.End) {
		if pass.About || pass.To < after {
			continue
		}
		end := max(pass.At, after)
		if pass.Stood {
			end = max(pass.Stand.From, after)
		}
		return &end
	}
	return nil
}

// onlyTrackTies tells that the log's clock, which put the row where it is, was found
// by the track.
func (r *resolver) onlyTrackTies(p place) bool {
	return r.t.Clock != nil && r.t.Clock.Basis == clock.Track && p.basis != ByVideo
}
