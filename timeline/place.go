package timeline

import (
	"context"
	"fmt"
	"slices"
	"time"

	"pushcue/timeline/clock"
	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/timecode"
)

// A place is where a row belongs, before it is put on a frame.
type place struct {
	at    timecode.Video
	half  time.Duration // half-width that holds the truth in 95 % of cases
	basis Basis
	why   []string
	timed bool // the log clock is sure there, so that true time may be told
}

// placeRows gives each row a place or a cause why it has none.
func (r *resolver) placeRows(ctx context.Context) error {
	if r.in.Log == nil {
		return nil
	}
	for i := range r.in.Log.Rows {
		if i%64 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		row := &r.in.Log.Rows[i]
		p, cause := r.place(row)
		if cause != nil {
			r.leave(row, *cause)
			continue
		}
		r.t.Observations = append(r.t.Observations, r.observe(row, p))
	}
	slices.SortStableFunc(r.t.Observations, func(a, b Observation) int { return a.Frame - b.Frame })
	for i := range r.t.Observations {
		r.t.Observations[i].Number = i + 1
	}
	return nil
}

// A cause says why a row has no place, and what to do.
type cause struct{ text, hint string }

// leave lists a row that found no place.
func (r *resolver) leave(row *fieldlog.Row, c cause) {
	r.t.Unplaced = append(r.t.Unplaced, Unplaced{Row: row.Number, Cause: c.text, Entry: row})
	r.warn(Warning{Code: "row-unplaced", Row: row.Number, Open: true,
		Text: fmt.Sprintf("row %d isn't placed: %s", row.Number, c.text), Hint: c.hint})
}

// place goes from what is surest to what is weakest: the recording's own time,
// the log's clock, the distance.
func (r *resolver) place(row *fieldlog.Row) (place, *cause) {
	var before *cause
	if row.Video != nil {
		p, c := r.byVideo(row)
		if c == nil {
			return p, nil
		}
		before = c
	}
	if row.Time != nil {
		p, c := r.byTime(row)
		if c == nil {
			return r.despite(row, p, before), nil
		}
		if before == nil {
			before = c
		}
	} else if row.Distance != nil {
		p, c := r.byDistance(row, everywhere(r.in.Recording.End))
		if c == nil {
			return r.despite(row, p, before), nil
		}
		if before == nil {
			before = c
		}
	}
	if before == nil {
		before = &cause{"it has no time, no recording time and no distance", "add one of the three to the row"}
	}
	return place{}, before
}

// despite says that a row found its place although its recording time couldn't be used.
func (r *resolver) despite(row *fieldlog.Row, p place, c *cause) place {
	if c != nil {
		r.warn(Warning{Code: "video-unusable", Row: row.Number, Open: true,
			Text: fmt.Sprintf("row %d: its recording time can't be used (%s); it's placed by what else it has", row.Number, c.text), Hint: c.hint})
		p.why = append([]string{"Its recording time can't be used: " + c.text + "."}, p.why...)
	}
	return p
}

// byVideo places a row by the recording's own time.
func (r *resolver) byVideo(row *fieldlog.Row) (place, *cause) {
	written, end := row.Video, r.in.Recording.End
	p := place{at: written.At, basis: ByVideo, timed: true}
	if written.Timecode != nil {
		at, err := r.atLabel(*written.Timecode)
		if err != nil {
			return p, &cause{fmt.Sprintf("its timecode %s has no frame (%s)", written.Text, err), "write the time as minutes and seconds, 5:14.2"}
		}
		p.at = at
	}
	if p.at < 0 || p.at >= end {
		return p, &cause{fmt.Sprintf("its recording time %s lies outside the recording, which is %s long", written.Text, end),
			"recording time counts from the first picture of the first part"}
	}
	// A player that showed 5:14 was somewhere up to 5:15.
	p.half = uniform95(p.at, p.at.Add(2*written.Half), p.at)
	p.why = []string{fmt.Sprintf("The log gives the recording's own time, %s.", written.Text)}
	return p, nil
}

// atLabel is the moment of a SMPTE label, counted at the recording's nominal
// rate from its first frame. A label names a frame, so the nearest one is meant.
func (r *resolver) atLabel(label timecode.SMPTE) (timecode.Video, error) {
	var rate timecode.Rate
	if parts := r.in.Recording.Parts; len(parts) > 0 {
		rate = parts[0].Rate
	}
	n, err := label.Frame(rate)
	if err != nil {
		return 0, err
	}
	at := rate.FrameTime(n)
	_, from, until := r.t.FrameAt(at)
	if at-from > until-at {
		return until, nil
	}
	return at, nil
}

// byTime places a row by the log's clock, and moves it to where an independent
// track shows its distance within what the clock allows.
func (r *resolver) byTime(row *fieldlog.Row) (place, *cause) {
	if r.t.Clock == nil {
		return r.orByDistance(row, everywhere(r.in.Recording.End), cause{
			"it has a time, but nothing ties the log's clock to the recording",
			`add an [[anchor]] (one moment known in both), or starts = "10:02:11" under [recording]`})
	}
	at, half, ok, why := r.t.Clock.Video(row.Time.Log, row.Time.Half)
	if !ok {
		return r.outside(row, cause{why, "check its time, or add an [[anchor]] near it"})
	}
	at = r.sideOf(at, row.Time.Log)
	p := place{at: at, half: half, basis: r.basisAt(at), timed: true}
	p.why = []string{
		fmt.Sprintf("The log's clock showed %s.", row.Time.Text),
		fmt.Sprintf("%s, that is %s in the recording, give or take %s.", capital(basisWords[p.basis]), at, about(half)),
	}
	return r.settle(row, p), nil
}

// sideOf keeps a moment that lies at the very end of a part on that part's last
// frame, where the log's clock says that it was then and not when the next began.
func (r *resolver) sideOf(at timecode.Video, l timecode.Log) timecode.Video {
	for _, s := range r.spans {
		if at != s.Start || at == 0 {
			continue
		}
		before, _, okBefore := r.t.Clock.Log(at - 1)
		after, _, okAfter := r.t.Clock.Log(at)
		if okBefore && (!okAfter || l.Sub(before).Abs() < after.Sub(l).Abs()) {
			return at - 1
		}
	}
	return at
}

var basisWords = map[Basis]string{
	ByAnchor:   "by the anchors",
	ByStart:    "by the log's time of the first picture",
	ByTrack:    "by the log's agreement with the distances",
	ByFileTime: "by the times found in the files, which are weak",
}

// basisAt is what ties the log's clock at v.
func (r *resolver) basisAt(v timecode.Video) Basis {
	for _, s := range r.t.Clock.Segments {
		if s.From <= v && v <= s.To && s.Weak {
			return ByFileTime
		}
	}
	switch r.t.Clock.Basis {
	case clock.Anchors:
		return ByAnchor
	case clock.Starts:
		return ByStart
	case clock.Track:
		return ByTrack
	}
	return ByFileTime
}

// outside places a row whose time the clock can't place: written up to lag after
// the recording or a part ended, within a pause, or in a stretch that nothing ties.
func (r *resolver) outside(row *fieldlog.Row, c cause) (place, *cause) {
	l, fit := row.Time.Log, r.t.Clock
	for _, p := range fit.Pauses {
		if p.LogFrom <= l && l <= p.LogTo {
			return r.orByDistance(row, []window{{p.From, p.To}}, c)
		}
	}
	if lag := r.sheet.Log.Lag; lag > 0 {
		if at, half, ok, _ := fit.Video(l.Add(-lag), row.Time.Half); ok {
			return r.orByDistance(row, []window{{at.Add(-half), at.Add(half + lag)}}, c)
		}
	}
	var untied []window
	for _, s := range fit.Segments {
		if !s.Tied {
			untied = append(untied, window{s.From, s.To})
		}
	}
	return r.orByDistance(row, untied, c)
}

// orByDistance places a row by its distance within windows, else leaves it with the clock's cause.
func (r *resolver) orByDistance(row *fieldlog.Row, in []window, c cause) (place, *cause) {
	if row.Distance == nil || r.track == nil || len(in) == 0 {
		return place{}, &c
	}
	p, missing := r.byDistance(row, in)
	if missing != nil {
		return p, &cause{c.text + "; and " + missing.text, c.hint}
	}
	p.why = append([]string{capital(c.text) + "."}, p.why...)
	return p, nil
}

// observe puts a placed row on its frame.
func (r *resolver) observe(row *fieldlog.Row, p place) Observation {
	frame, at, until := r.t.FrameAt(p.at)
	o := Observation{
		Row: row.Number, Frame: frame, Video: at, Basis: p.basis, Why: p.why, Entry: row,
		Uncertainty: max(p.half, until.Sub(at)/2),
	}
	if point := r.track.At(at); point.State >= distance.Filled {
		o.Track = &point.Metres
	}
	if row.Distance != nil {
		own := r.correction.Apply(row.Distance.Metres)
		o.Distance = &own
	} else if o.Track != nil {
		own := *o.Track
		o.Distance = &own
	}
	if row.To != nil {
		to := r.correction.Apply(row.To.Metres)
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
		r.warn(Warning{Code: "outside-shown", Row: row.Number, Open: true,
			Text: fmt.Sprintf("row %d lies at %s, outside what is shown (%s to %s): it gets no still, clip or cue", row.Number, at, r.t.ShowFrom, r.t.ShowTo),
			Hint: "widen show_from and show_to, if the customer should see it"})
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
