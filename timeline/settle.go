package timeline

import (
	"slices"
	"time"

	"pushcue/timeline/belief"
	"pushcue/timeline/codes"
	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// severalFrom is the belief from which another place is named.
const severalFrom = 0.05

// believed is how sure it is that a row was seen at a moment.
func (r *resolver) believed(p *belief.Place, at float64, basis Basis) place {
	from, to := p.Between(at, holds)
	one := place{at: timecode.VideoSeconds(at), basis: basis,
		half:     time.Duration(p.Half(at, holds) * float64(time.Second)),
		earliest: timecode.VideoSeconds(from), latest: timecode.VideoSeconds(to),
		sure: p.Within(at, sureWithin.Seconds()) >= sureShare}
	one.at = min(max(0, one.at), max(0, r.in.Recording.End-1))
	return one
}

// holds is the share of cases that a ± holds.
const holds = 0.95

// settle says what a row's time and its distance make of each other: p is where both
// put it, at where the log's clock alone has the moment at which it was written.
func (r *resolver) settle(row *fieldlog.Row, one place, p *belief.Place, at timecode.Video) place {
	if r.track == nil {
		return r.toStand(one, at)
	}
	if row.Distance == nil {
		return one
	}
	d := r.correction.Apply(row.Distance.Metres)
	spot, ok := r.likeliest(p)
	switch {
	case !ok:
		return r.disagrees(row, one, p, d)
	case spot.Stand && timecode.VideoSeconds(spot.From) <= at && at <= timecode.VideoSeconds(spot.To):
		one.why = append(one.why, words.Tell("The track agrees: it %s.", r.shows(spot, one.at, d)))
	default:
		one.basis, one.track = ByDwell, true
		one.why = append(one.why, words.Tell("Rows are written later than seen; shortly before that the track %s, so it most likely belongs there.", r.shows(spot, one.at, d)))
		one.why = append(one.why, r.doubt()...)
	}
	return r.others(row, one, p, d)
}

// likeliest is the pass of a row's distance that is believed most; false where a slip
// of the pen is believed more than any.
func (r *resolver) likeliest(p *belief.Place) (belief.Spot, bool) {
	if len(p.Spots) == 0 || p.Spots[0].Share <= p.Typo {
		return belief.Spot{}, false
	}
	return p.Spots[0], true
}

// toStand tells of the stand that a row without a track was moved to.
func (r *resolver) toStand(one place, at timecode.Video) place {
	for _, s := range r.in.Stands {
		switch {
		case one.at < s.From || one.at > s.To:
		case s.From <= at && at <= s.To:
			one.why = append(one.why, words.Tell("The pictures stand still there, from %s to %s.", s.From, s.To))
		default:
			one.basis = ByDwell
			one.why = append(one.why, words.Tell("Shortly before that the pictures stand still from %s to %s, so it was most likely looked at then.", s.From, s.To))
		}
	}
	return one
}

// byDistance places a row where the track shows its distance.
func (r *resolver) byDistance(row *fieldlog.Row, p *belief.Place) (place, *cause) {
	if r.track == nil {
		return place{}, &cause{words.Tell("it has a distance but no time, and no readings of the counter tell when the camera was there"),
			words.Tell("add its time or its recording time, or readings of the counter ([distance] readings)")}
	}
	d := r.correction.Apply(row.Distance.Metres)
	if !r.everShown(row) || len(p.Share) == 0 {
		hint := words.Tell("check the distance, its unit, and zero under [distance]")
		if len(r.track.Resets()) > 0 {
			hint = words.Tell("check the distance, its unit, and zero under [distance]; after the counter was set anew, a row's distance is what it showed then")
		}
		return place{}, &cause{words.Tell("the track never shows the camera at %s", r.length(d)), hint}
	}
	one := r.believed(p, p.At(), ByDistance)
	one.track = true
	if spot, ok := r.likeliest(p); ok {
		one.why = append(one.why, words.Tell("The track %s.", r.shows(spot, one.at, d)))
	} else {
		one.why = append(one.why, words.Tell("The track shows the camera at %s at other times than the rest of the log has it.", r.length(d)))
	}
	one = r.others(row, one, p, d)
	if silent := r.silentParts(); !silent.Empty() {
		one.why = append(one.why, words.Tell("Of %s nothing tells where the camera was; it may have been there, too.", silent))
	}
	one.why = append(one.why, r.doubt()...)
	_, _, one.timed = r.logAt(one.at)
	return one, nil
}

// others names the other places that hold more than severalFrom of the belief.
func (r *resolver) others(row *fieldlog.Row, one place, p *belief.Place, d distance.Metres) place {
	var at []timecode.Video
	for _, s := range p.Spots {
		if s.Share > severalFrom && (timecode.VideoSeconds(s.From) > one.at || timecode.VideoSeconds(s.To) < one.at) {
			at = append(at, timecode.VideoSeconds((s.From+s.To)/2))
		}
	}
	if len(at) == 0 {
		return one
	}
	slices.Sort(at)
	others := moments(at)
	one.why = append(one.why, words.Tell("It was there at other times too: %s.", others))
	r.warn(Warning{Code: codes.SeveralPasses, Row: row.Number,
		Text: AboutRow(row.Number, words.Tell("the camera was at %s several times; %s was taken, %s would do as well", r.length(d), one.at, others)),
		Hint: words.Tell("add a time to the row, or its recording time, to settle it"), Out: Out{At: at}})
	return one
}

// disagrees reports a row whose distance isn't what the track shows at its time.
func (r *resolver) disagrees(row *fieldlog.Row, one place, p *belief.Place, d distance.Metres) place {
	point := r.track.At(one.at)
	if point.State < distance.Filled {
		return one
	}
	d += r.track.Offset(one.at)
	if (d - point.Metres).Abs() <= r.tolerance(row.Distance) {
		return one
	}
	r.reportDisagreement(row, d, point.Metres)
	if m, ok := r.meant(row.Distance, max(one.earliest, one.at-timecode.Video(sureWithin)), min(one.latest, one.at+timecode.Video(sureWithin))); ok {
		w := &r.t.Warnings[len(r.t.Warnings)-1]
		w.Hint = words.Tell("it may be a slip of the pen: the track shows %s at that time; correct the row if that was meant", r.length(r.correction.Apply(m)))
	}
	one.why = append(one.why, words.Tell("The log says %s, the track %s at that time; the time was believed.", r.length(d), r.length(point.Metres)))
	return one
}

func (r *resolver) reportDisagreement(row *fieldlog.Row, log, track distance.Metres) {
	r.warn(Warning{Code: codes.DistanceDisagrees, Row: row.Number,
		Text: AboutRow(row.Number, words.Tell("the log says %s, the track %s at that time", r.length(log), r.length(track))),
		Hint: words.Tell("check the row's time and distance; if all rows are off alike, check zero under [distance] and lag under [log]")})
}

// silentParts names the parts of which the track has no reading; "" where it has some
// of each.
func (r *resolver) silentParts() words.Sentence {
	var names []words.Sentence
	readings := r.track.Readings()
	for _, s := range r.spans {
		if !slices.ContainsFunc(readings, func(one distance.Reading) bool { return one.At >= s.Start && one.At < s.End }) {
			names = append(names, words.Plain("%s", s.Name))
		}
	}
	return words.Join(names, words.Tell(" and "))
}

// doubt marks what rests on a counter that nobody has confirmed.
func (r *resolver) doubt() []words.Sentence {
	if r.unconfirmed {
		return []words.Sentence{words.Tell("The track was read from the on-screen counter, and nobody has confirmed it yet.")}
	}
	return nil
}

// shows tells what the track shows of a spot in which a row was put at v.
func (r *resolver) shows(s belief.Spot, v timecode.Video, d distance.Metres) words.Sentence {
	from, to := timecode.VideoSeconds(s.From), timecode.VideoSeconds(s.To)
	switch {
	case s.Place < 0:
		return words.Tell("has a gap in which the camera passed %s, at about %s", r.length(d), v)
	case s.Stand:
		for _, stand := range r.track.Stands() {
			if stand.From <= v && v <= stand.To {
				from, to = stand.From, stand.To
			}
		}
		return words.Tell("shows the camera standing at %s from %s to %s", r.nearTo(v, d), from, to)
	}
	return words.Tell("shows the camera passing %s at %s", r.nearTo(v, d), v)
}

// nearTo is what the counter tells of v, corrected, where the row says d: the two may
// be apart by what a hand rounds.
func (r *resolver) nearTo(v timecode.Video, d distance.Metres) words.Sentence {
	p := r.track.At(v)
	told, said := r.length(p.Metres-r.track.Offset(v)), r.length(d)
	if p.State < distance.Filled || told.Equal(said) {
		return said
	}
	return words.Tell("%s, near enough to %s,", told, said)
}

// moments lists the first few of many.
func moments(at []timecode.Video) words.Sentence {
	const most = 4
	var list []words.Sentence
	for _, v := range at[:min(most, len(at))] {
		list = append(list, words.Plain("%s", v))
	}
	if more := len(at) - most; more > 0 {
		return words.Tell("%s and %d more", words.Join(list, words.Comma), more)
	}
	return words.Join(list, words.Comma)
}
