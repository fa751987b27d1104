package timeline

import (
	"slices"
	"time"

	"pushcue/timeline/codes"
	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// A window is a stretch of the recording in which a row's moment is looked for.
type window struct{ from, to timecode.Video }

func everywhere(end timecode.Video) []window { return []window{{0, end}} }

// tolerance is how far the track may be from a written distance and still show
// it: half the last digit of both, and a finger's breadth.
func (r *resolver) tolerance(l *distance.Length) distance.Metres {
	return l.Step/2 + r.track.Step()/2 + 0.01
}

// A candidate is a moment at which the track shows a row's distance.
type candidate struct {
	at       timecode.Video
	from, to timecode.Video // the truth lies between
	pass     distance.Pass
}

// candidates are the passes of a distance within windows: stands where there are
// any; else passings; passes in a gap between readings only where nothing else is.
func (r *resolver) candidates(l *distance.Length, in []window) []candidate {
	var stands, passings, guesses []candidate
	d, tol := r.correction.Apply(l.Metres), r.tolerance(l)
	for _, w := range in {
		for p := range r.track.Passes(d, tol, w.from, w.to) {
			c := candidate{at: p.At, from: p.From, to: p.To, pass: p}
			if p.Stood {
				c.from, c.to = p.Stand.From, p.Stand.To
			}
			c.from, c.to = max(c.from, w.from), min(c.to, w.to)
			if c.from > c.to {
				// The pass may still be in the window where its longest stand isn't.
				c.from, c.to = max(p.From, w.from), min(p.To, w.to)
				c.pass.Stood = false
			}
			if c.from > c.to {
				continue
			}
			switch {
			case c.pass.Stood:
				c.at = c.from + (c.to-c.from)/2
				stands = append(stands, c)
			case p.About:
				guesses = append(guesses, c)
			default:
				c.at = min(max(p.At, c.from), c.to)
				passings = append(passings, c)
			}
		}
	}
	for _, cs := range [][]candidate{stands, passings, guesses} {
		if len(cs) > 0 {
			return cs
		}
	}
	return nil
}

// byDistance places a row where the track shows its distance: where the camera
// stood longest, else where it first passed.
func (r *resolver) byDistance(row *fieldlog.Row, in []window) (place, *cause) {
	if r.track == nil {
		return place{}, &cause{words.Tell("it has a distance but no time, and no readings of the counter tell when the camera was there"),
			words.Tell("add its time or its recording time, or readings of the counter ([distance] readings)")}
	}
	d := r.correction.Apply(row.Distance.Metres)
	cs := r.candidates(row.Distance, in)
	if len(cs) == 0 {
		hint := words.Tell("check the distance, its unit, and zero under [distance]")
		if len(r.track.Resets()) > 0 {
			hint = words.Tell("check the distance, its unit, and zero under [distance]; after the counter was set anew, a row's distance is what it showed then")
		}
		return place{}, &cause{words.Tell("the track never shows the camera at %s", r.length(d)), hint}
	}
	best := cs[0]
	for _, c := range cs[1:] {
		if best.pass.Stood && c.to-c.from > best.to-best.from {
			best = c
		}
	}
	p := place{at: best.at, basis: ByDistance, track: true, half: r.spread(best, cs)}
	p.why = append(p.why, words.Tell("The track %s.", r.shows(best, d)))
	if len(cs) > 1 {
		others := r.moments(cs, best)
		p.why = append(p.why, words.Tell("It was there at other times too: %s.", others))
		r.warn(Warning{Code: codes.SeveralPasses, Row: row.Number,
			Text: AboutRow(row.Number, words.Tell("the camera was at %s several times; %s was taken, %s would do as well", r.length(d), best.at, others)),
			Hint: words.Tell("add a time to the row, or its recording time, to settle it"), Out: Out{At: passes(cs, best)}})
	}
	if silent := r.silentParts(); !silent.Empty() {
		p.why = append(p.why, words.Tell("Of %s nothing tells where the camera was; it may have been there, too.", silent))
	}
	p.why = append(p.why, r.doubt()...)
	if _, _, sure := r.logAt(best.at); sure {
		p.timed = true
	}
	return p, nil
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

// logAt is what the log's clock showed at v, if anything ties it there.
func (r *resolver) logAt(v timecode.Video) (timecode.Log, time.Duration, bool) {
	if r.t.Clock == nil {
		return 0, 0, false
	}
	return r.t.Clock.Log(v)
}

// spread is the half-width round best that covers it and its like, since nobody
// knows which of them was meant. When a stand began and ended is known to a
// reading's spacing only.
func (r *resolver) spread(best candidate, cs []candidate) time.Duration {
	from, to := best.from, best.to
	if best.pass.About {
		from, to = r.track.Around(best.at)
	}
	for _, c := range cs {
		from, to = min(from, c.from), max(to, c.to)
	}
	edge := min(r.track.Spacing(), 5*time.Second)
	return uniform95(from.Add(-edge), to.Add(edge), best.at)
}

// doubt marks what rests on a counter that nobody has confirmed.
func (r *resolver) doubt() []words.Sentence {
	if r.unconfirmed {
		return []words.Sentence{words.Tell("The track was read from the on-screen counter, and nobody has confirmed it yet.")}
	}
	return nil
}

func (r *resolver) shows(c candidate, d distance.Metres) words.Sentence {
	switch {
	case c.pass.Stood:
		return words.Tell("shows the camera standing at %s from %s to %s", r.nearTo(c.at, d), c.from, c.to)
	case c.pass.About:
		return words.Tell("has a gap in which the camera passed %s, at about %s", r.length(d), c.at)
	}
	return words.Tell("shows the camera passing %s at %s", r.nearTo(c.at, d), c.at)
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

// passes are the moments of all candidates but one.
func passes(cs []candidate, but candidate) (all []timecode.Video) {
	for _, c := range cs {
		if c != but {
			all = append(all, c.at)
		}
	}
	return all
}

// moments lists the other candidates, the first few of many.
func (r *resolver) moments(cs []candidate, but candidate) words.Sentence {
	const most = 4
	var list []words.Sentence
	more := 0
	for _, at := range passes(cs, but) {
		if len(list) == most {
			more++
			continue
		}
		list = append(list, words.Plain("%s", at))
	}
	if more > 0 {
		return words.Tell("%s and %d more", words.Join(list, words.Comma), more)
	}
	return words.Join(list, words.Comma)
}
