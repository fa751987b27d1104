package timeline

import (
	"slices"
	"time"

	"pushcue/timeline/belief"
	"pushcue/timeline/distance"
	"pushcue/timeline/timecode"
)

// A Pointed compares a distance that a person wrote down in one picture with an
// independent track.
type Pointed struct {
	Agrees  bool             // the track shows the distance in that picture, within what it knows
	Here    *distance.Metres // where along the line the track has that picture; nil where it doesn't tell
	At      []Passing        // when the track shows the distance, in video order
	Guessed bool             // the track rests on an on-screen counter that nobody has confirmed
}

// A Passing is one time at which the camera was at a distance.
type Passing struct {
	At     timecode.Video
	Stood  bool
	Metres distance.Metres // along the line: another than what the counter showed once it was set anew
}

// swaying is how soon after it the camera is at a distance again by swaying round it.
const swaying = 2 * time.Second

// Pointed compares l, written down in the picture at v, with the track. ok is false where
// no track is independent of the log: then only the person knows.
func (t *Timeline) Pointed(l distance.Length, v timecode.Video) (p Pointed, ok bool) {
	if !t.independent {
		return p, false
	}
	r := &resolver{passed: map[[2]distance.Metres][]belief.Span{}, t: t, sheet: t.Sheet, track: t.Track, correction: distance.Correction{Zero: t.Sheet.Distance.Zero, Taped: t.Sheet.Distance.Taped}}
	d, tolerance := r.correction.Apply(l.Metres), r.tolerance(&l)
	if point := t.Track.At(v); point.State >= distance.Filled {
		p.Here = &point.Metres
	}
	p.Agrees = r.isShown(&l, v, inThePicture)
	p.Guessed = !t.Sheet.Counter.Confirmed && slices.Contains(t.Track.Sources(), distance.FromPicture)
	var guesses []Passing
	end := timecode.Video(-1)
	for pass := range t.Track.Passes(d, tolerance, 0, t.Recording.End) {
		one := Passing{At: pass.At, Stood: pass.Stood, Metres: d + t.Track.Offset(pass.At)}
		switch {
		case pass.About: // it was there at some time between two readings far apart
			from, to := t.Track.Around(pass.At)
			p.Agrees = p.Agrees || from <= v && v <= to
			guesses = append(guesses, one)
		case len(p.At) > 0 && pass.From.Sub(end) <= swaying:
			if last := &p.At[len(p.At)-1]; one.Stood && !last.Stood {
				*last = one
			}
			end = pass.To
		default:
			p.At, end = append(p.At, one), pass.To
		}
	}
	if len(p.At) == 0 {
		p.At = guesses
	}
	return p, true
}
