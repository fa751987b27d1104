package clock

import "pushcue/timeline/timecode"

// Likely is how well each way in which the log's clock may run through a part explains
// what is known of it: at Middle it showed First, or so many Steps later, and from
// there it ran at one of the rates.
type Likely struct {
	Middle timecode.Video
	First  timecode.Log
	Step   timecode.Log
	Rates  []float64   // log clock against video, as fractions: evenly spaced, rising; at least two
	Logs   [][]float64 // logarithm of the likelihood, by rate and by step; all rows alike long
}

// Two clocks of which nobody knows more than that they tell the time. What quartz
// does stands first; what isn't believed of it where a person sets anchors is thought
// possible here, since no person has looked: better a wider ± than a wrong one.
var anyClocks = []drift{{300 * ppm, 0.2}, {1000 * ppm, 0.8}}

// FromLikely ties each part by how likely its ways are; nil leaves a part untied. Each
// part has a rate of its own.
func FromLikely(parts []Span, ways []*Likely, basis Basis, o Options) *Fit {
	f := &Fit{Basis: basis, parts: parts, options: o}
	var groups [][]sighting
	var beliefs []belief
	for p, w := range ways {
		if p >= len(parts) || w == nil {
			continue
		}
		if len(groups) == 0 {
			f.zero = zeroOf(w.First, w.Middle)
		}
		slices := w.slices(f)
		if !normalise(slices) {
			continue
		}
		x := w.Middle.Seconds()
		groups = append(groups, []sighting{{part: p, x: x}})
		beliefs = append(beliefs, gather(slices, 0, x))
	}
	f.lay(groups, beliefs)
	return f
}

// slices is the posterior at each of the rates, as solve would have it.
func (w *Likely) slices(f *Fit) []slice {
	rateStep := (w.Rates[len(w.Rates)-1] - w.Rates[0]) / float64(len(w.Rates)-1)
	first, step := f.secondsOf(w.First)-w.Middle.Seconds(), w.Step.Seconds()
	var out []slice
	for i, r := range w.Rates {
		c, mass := cumulated(w.Logs[i], first-step/2, step)
		out = append(out, slice{
			rate: r, step: rateStep, offsets: []column{c},
			log: mass + logDensity(anyClocks, r),
		})
	}
	return out
}
