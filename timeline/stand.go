package timeline

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"pushcue/timeline/clock"
	"pushcue/timeline/codes"
	"pushcue/timeline/distance"
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

// toStand moves a row within its own ± to where the camera stood: most rows are
// written while looking. Of several stands the one is taken that the row's time
// makes likeliest.
func (r *resolver) toStand(p place) place {
	if p.half < standsHelpFrom {
		return p
	}
	from, to := max(0, p.at.Add(-p.half)), min(r.in.Recording.End, p.at.Add(p.half))
	sigma := p.half.Seconds() / 1.96
	share := func(a, b timecode.Video) float64 {
		z := func(v timecode.Video) float64 { return math.Erf(v.Sub(p.at).Seconds() / sigma / math.Sqrt2) }
		return (z(b) - z(a)) / 2
	}
	var best Stand
	most := 0.0
	for _, s := range r.in.Stands {
		s.From, s.To = max(s.From, from), min(s.To, to)
		if s.From >= s.To {
			continue
		}
		if p.at >= s.From && p.at <= s.To {
			p.why = append(p.why, words.Tell("The pictures stand still there, from %s to %s.", s.From, s.To))
			return p
		}
		if m := share(s.From, s.To); m > most {
			best, most = s, m
		}
	}
	if most == 0 {
		return p
	}
	was := p
	p.at, p.basis = best.From+(best.To-best.From)/2, ByDwell
	p.half = r.standHalf(was, p.at, sigma)
	p.why = append(p.why, words.Tell("Within that the pictures stand still from %s to %s, so it was most likely looked at then.", best.From, best.To))
	return p
}

// standHalf is the half-width round at that holds 95 % of the moments at which a row
// may have been seen: those of stands count in full, passing ones as little as a
// passing counts elsewhere.
func (r *resolver) standHalf(p place, at timecode.Video, sigma float64) time.Duration {
	const steps = 200
	type moment struct{ away, weight float64 }
	var all []moment
	total := 0.0
	for i := -steps; i <= steps; i++ {
		z := 3 * float64(i) / steps
		v := p.at.Add(time.Duration(z * sigma * float64(time.Second)))
		weight := math.Exp(-z * z / 2)
		if !slices.ContainsFunc(r.in.Stands, func(s Stand) bool { return s.From <= v && v <= s.To }) {
			weight *= passingShare
		}
		all = append(all, moment{math.Abs(v.Sub(at).Seconds()), weight})
		total += weight
	}
	slices.SortFunc(all, func(a, b moment) int { return cmp.Compare(a.away, b.away) })
	sum := 0.0
	for _, m := range all {
		sum += m.weight
		if sum >= 0.95*total {
			return time.Duration(m.away * float64(time.Second))
		}
	}
	return p.half
}

// leastByStands is how many rows with a time it takes to find the log's clock from
// the stands alone.
const leastByStands = 8

// proposeByStands proposes when the log's clock showed what, where the times at
// which rows were written fit the moments at which the camera stood. It's a guess
// from pictures alone, so it ties nothing: a person has to say yes.
func (r *resolver) proposeByStands() {
	tied := r.t.Clock != nil && r.t.Clock.Basis != clock.FileTimes
	if tied || r.track != nil || len(r.in.Stands) == 0 || !r.calendar.rows {
		return
	}
	for i, part := range r.spans {
		a := r.fitStands(part)
		if !a.Sure {
			continue
		}
		face := r.clockFace(timecode.Log(part.Start) + a.Offset)
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

// fitStands is the offset at which most rows were written while the camera stood.
func (r *resolver) fitStands(part clock.Span) Agreement {
	a := Agreement{Part: part.Name}
	var passes []distance.Pass
	for _, s := range r.in.Stands {
		if s.From >= part.Start && s.To <= part.End {
			passes = append(passes, distance.Pass{From: s.From, To: s.To, At: s.From + (s.To-s.From)/2, Stood: true})
		}
	}
	var claims []claim
	for i := range r.in.Log.Rows {
		if m := r.in.Log.Rows[i].Time; m != nil && len(claims) < mostClaims {
			if n := len(claims); n > 0 && m.Log.Sub(claims[n-1].log).Abs() < time.Second {
				continue
			}
			claims = append(claims, claim{log: m.Log, sigma: math.Hypot(handNoise.Seconds(), m.Half.Seconds()/math.Sqrt(3)),
				passes: passes, weight: float64(len(passes))})
		}
	}
	a.Rows = len(claims)
	if len(claims) < leastByStands || len(passes) < leastByStands/2 {
		return a
	}
	first, cells, ok := r.offsets(part)
	if !ok {
		return a
	}
	return r.standsOut(a, []zero{{claims: claims}}, first, cells, part)
}
