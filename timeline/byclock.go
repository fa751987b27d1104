package timeline

import (
	"fmt"

	"pushcue/timeline/clock"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/timecode"
)

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
		fmt.Sprintf("%s, that is %s in the recording, give or take %s.", capital(r.basisWords(p.basis)), at, about(half)),
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

func (r *resolver) basisWords(b Basis) string {
	switch b {
	case ByAnchor:
		return "by the anchors"
	case ByStart:
		return "by the log's time of the first picture"
	case ByTrack:
		return "by the log's agreement with the distances"
	}
	return "by " + r.recorderTimes() + ", which is weak evidence"
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
