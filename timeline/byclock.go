package timeline

import (
	"time"

	"pushcue/timeline/belief"
	"pushcue/timeline/clock"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// byTime places a row by its time, and its distance where it has one.
func (r *resolver) byTime(row *fieldlog.Row, p *belief.Place) (place, *cause) {
	untied := cause{
		words.Tell("it has a time, but nothing ties the log's clock to the recording"),
		words.Tell(`add an [[anchor]] (one moment known in both), or starts = "10:02:11" under [recording]`)}
	byDistance := row.Distance != nil && r.track != nil && r.everShown(row)
	if r.t.Clock == nil {
		if byDistance {
			return r.alsoWhy(untied.text, row, p)
		}
		return place{}, &untied
	}
	at, half, ok, why := r.t.Clock.Video(row.Time.Log, row.Time.Half)
	if !ok && (!byDistance || p.Lost > 0.5) {
		return place{}, r.outside(row, why)
	}
	if !ok {
		return r.alsoWhy(why, row, p)
	}
	at = r.sideOf(at, row.Time.Log)
	basis := r.basisAt(at)
	best := p.At()
	if r.late() == nil && (row.Distance == nil && r.track != nil || r.track == nil && len(r.in.Stands) == 0) {
		best = at.Seconds() // nothing tells how late this writer writes, but that it isn't early
	}
	seen := r.believed(p, best, basis)
	seen.timed = true
	seen.why = []words.Sentence{
		words.Tell("The log's clock showed %s.", row.Time.Text),
		r.byWhat(basis, at, half),
	}
	return r.settle(row, seen, p, at), nil
}

// alsoWhy places a row by its distance, and says first why its time didn't.
func (r *resolver) alsoWhy(why words.Sentence, row *fieldlog.Row, p *belief.Place) (place, *cause) {
	placed, missing := r.byDistance(row, p)
	if missing != nil {
		return placed, missing
	}
	placed.why = append([]words.Sentence{words.Whole(why)}, placed.why...)
	return placed, nil
}

// outside is the cause of a row whose time isn't of the recording.
func (r *resolver) outside(row *fieldlog.Row, why words.Sentence) *cause {
	c := &cause{why, words.Tell("check its time, or add an [[anchor]] near it")}
	if row.Distance != nil && r.track != nil && !r.everShown(row) {
		c.text = words.Tell("%s; and %s", why, words.Tell("the track never shows the camera at %s", r.length(r.correction.Apply(row.Distance.Metres))))
	}
	return c
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

// logAt is what the log's clock showed at v, if anything ties it there.
func (r *resolver) logAt(v timecode.Video) (timecode.Log, time.Duration, bool) {
	if r.t.Clock == nil {
		return 0, 0, false
	}
	return r.t.Clock.Log(v)
}
