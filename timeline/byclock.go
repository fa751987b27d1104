package timeline

import (
	"time"

	"pushcue/timeline/clock"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// byTime places a row by the log's clock, and moves it to where an independent
// track shows its distance within what the clock allows.
func (r *resolver) byTime(row *fieldlog.Row) (place, *cause) {
	if r.t.Clock == nil {
		return r.orByDistance(row, everywhere(r.in.Recording.End), cause{
			words.Tell("it has a time, but nothing ties the log's clock to the recording"),
			words.Tell(`add an [[anchor]] (one moment known in both), or starts = "10:02:11" under [recording]`)})
	}
	at, half, ok, why := r.t.Clock.Video(row.Time.Log, row.Time.Half)
	if !ok {
		return r.outside(row, cause{why, words.Tell("check its time, or add an [[anchor]] near it")})
	}
	at = r.sideOf(at, row.Time.Log)
	p := place{at: at, half: half, basis: r.basisAt(at), timed: true}
	p.why = []words.Sentence{
		words.Tell("The log's clock showed %s.", row.Time.Text),
		r.byWhat(p.basis, at, half),
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

// byWhat tells when a row was by what ties the log's clock.
func (r *resolver) byWhat(b Basis, at timecode.Video, half time.Duration) words.Sentence {
	switch b {
	case ByAnchor:
		return words.Tell("By the anchors, that is %s in the recording, give or take %s.", at, about(half))
	case ByStart:
		return words.Tell("By the log's time of the first picture, that is %s in the recording, give or take %s.", at, about(half))
	case ByTrack:
		return words.Tell("By the log's agreement with the distances, that is %s in the recording, give or take %s.", at, about(half))
	}
	return words.Tell("By %s, which is weak evidence, that is %s in the recording, give or take %s.", r.recorderTimes(), at, about(half))
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
		return p, &cause{words.Tell("%s; and %s", c.text, missing.text), c.hint}
	}
	p.why = append([]words.Sentence{words.Whole(c.text)}, p.why...)
	return p, nil
}
