package timeline

import (
	"pushcue/timeline/codes"
	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// settle finds the moment that a row's time stands for. A row is written up to
// lag after it was seen, so its moment lies between then and the clock's ±, where
// the independent track shows its distance: where the camera stood rather than
// where it passed. Without such a moment the row's time stays, and what the track
// says instead is reported.
func (r *resolver) settle(row *fieldlog.Row, p place) place {
	if r.track == nil {
		return r.toStand(p)
	}
	if row.Distance == nil {
		return p
	}
	d := r.correction.Apply(row.Distance.Metres)
	within := window{max(0, p.at.Add(-p.half-r.sheet.Log.Lag)), min(r.in.Recording.End, p.at.Add(p.half))}
	cs := r.candidates(row.Distance, []window{within})
	if len(cs) == 0 || cs[0].pass.About {
		return r.disagrees(row, p, d)
	}
	best := cs[0]
	for _, c := range cs[1:] {
		if nearer(c, best, p.at) {
			best = c
		}
	}
	if best.from <= p.at && p.at <= best.to && best.pass.Stood {
		p.half = min(p.half+r.sheet.Log.Lag, r.spread(candidate{at: p.at, from: best.from, to: best.to}, cs))
		p.why = append(p.why, words.Tell("The track agrees: it %s.", r.shows(best, d)))
		return p
	}
	p.at, p.basis, p.track = best.at, ByDwell, true
	p.half = r.spread(best, cs)
	p.why = append(p.why, words.Tell("It may have been written up to %s later than seen; in that time the track %s, so it belongs there.", about(r.sheet.Log.Lag), r.shows(best, d)))
	p.why = append(p.why, r.doubt()...)
	return p
}

// nearer prefers the pass that holds the row's time, then the nearest one.
func nearer(a, b candidate, at timecode.Video) bool {
	return a.away(at) < b.away(at)
}

// away is how far at lies outside the candidate.
func (c candidate) away(at timecode.Video) timecode.Video {
	return max(c.from-at, at-c.to, 0)
}

// disagrees reports a row whose distance isn't what the track shows at its time.
func (r *resolver) disagrees(row *fieldlog.Row, p place, d distance.Metres) place {
	point := r.track.At(p.at)
	if point.State < distance.Filled {
		return p
	}
	d += r.track.Offset(p.at)
	r.reportDisagreement(row, d, point.Metres)
	p.why = append(p.why, words.Tell("The log says %s, the track %s at that time; the time was believed.", r.length(d), r.length(point.Metres)))
	return p
}

func (r *resolver) reportDisagreement(row *fieldlog.Row, log, track distance.Metres) {
	r.warn(Warning{Code: codes.DistanceDisagrees, Row: row.Number,
		Text: AboutRow(row.Number, words.Tell("the log says %s, the track %s at that time", r.length(log), r.length(track))),
		Hint: words.Tell("check the row's time and distance; if all rows are off alike, check zero under [distance] and lag under [log]")})
}
