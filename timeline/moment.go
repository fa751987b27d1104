package timeline

import (
	"slices"
	"sort"
	"time"

	"pushcue/timeline/distance"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// momentNear is how far from a moment a row still belongs to what is told about it.
const momentNear = 5 * time.Second

// ExplainMoment tells in plain sentences what is known of a moment of the recording: how
// far the camera was and by which readings, whether it stood, what the clock said, and
// which rows are near. stands are when the pictures stand still, where somebody looked.
// It returns false outside the recording.
func (t *Timeline) ExplainMoment(v timecode.Video, stands []Stand) ([]words.Sentence, bool) {
	if v < 0 || v > t.Recording.End || len(t.Recording.Frames) == 0 {
		return nil, false
	}
	frame, at, _ := t.FrameAt(v)
	part := t.Recording.Parts[t.partAt(at)]
	lines := []words.Sentence{words.Tell("The picture at %s is frame %d, shown at %s: %s into %s.", v, frame, at.Format(3), timecode.Video(at.Sub(part.Start)), part.File)}
	if at < t.ShowFrom || at >= t.ShowTo {
		lines = append(lines, words.Tell("It lies outside what is shown to the customer."))
	}
	lines = append(lines, t.momentDistance(at)...)
	lines = append(lines, t.momentMotion(at, stands)...)
	lines = append(lines, t.momentClock(at)...)
	return append(lines, t.momentRows(at)...), true
}

func (t *Timeline) partAt(v timecode.Video) int {
	after := sort.Search(len(t.Recording.Parts), func(i int) bool { return t.Recording.Parts[i].Start > v })
	return max(0, after-1)
}

func (t *Timeline) momentDistance(at timecode.Video) []words.Sentence {
	if t.Track == nil {
		return []words.Sentence{words.Tell("No distance is known anywhere on the recording.")}
	}
	var lines []words.Sentence
	p := t.DistanceAt(at)
	shown := p.Metres.Shown(t.Sheet.Job.Units)
	switch p.State {
	case distance.Unread:
		lines = append(lines, words.Tell("How far the camera was there isn't known."))
	case distance.About:
		lines = append(lines, words.Tell("The camera was at about %s: the readings before and after are too far apart to give a ±.", shown))
	default:
		lines = append(lines, words.Tell("The camera was at %s, give or take %s by its readings.", shown, t.trackHalf(at, p.Metres).Shown(t.Sheet.Job.Units)))
	}
	if p.State != distance.Unread && p.Unsure {
		lines = append(lines, words.Tell("Nobody is sure of one of those readings."))
	}
	if slices.Contains(t.Track.Sources(), distance.FromPicture) {
		return append(lines, t.explainPicture(Observation{Video: at, Unconfirmed: !t.Sheet.Counter.Confirmed})...)
	}
	rs := t.Track.Readings()
	after := sort.Search(len(rs), func(i int) bool { return rs[i].At > at })
	for _, i := range []int{after - 1, after} {
		if i >= 0 && i < len(rs) {
			source := words.Tell("the readings file")
			if rs[i].Source == distance.FromLog {
				source = words.Tell("row %d", rs[i].Row)
			}
			lines = append(lines, words.Tell("A reading of %s at %s, by %s.", rs[i].Shown.Shown(t.Sheet.Job.Units), rs[i].At, source))
		}
	}
	return lines
}

// trackHalf is the half-width that holds the distance at a moment in 95 % of cases, as far
// as its readings tell: the camera was between the places of the readings on both sides, each
// of which is rounded to the counter's step. A place is taken as spread evenly between
// those ends, so that 95 % of it is 0.95 of their distance. Never less than a tenth, which
// is what is shown.
func (t *Timeline) trackHalf(at timecode.Video, place distance.Metres) distance.Metres {
	rs := t.Track.Readings()
	low, high := place, place
	after := sort.Search(len(rs), func(i int) bool { return rs[i].At > at })
	for _, i := range []int{after - 1, after} {
		if i >= 0 && i < len(rs) {
			low, high = min(low, t.Track.Place(i)), max(high, t.Track.Place(i))
		}
	}
	return max(0.1, 0.95*(max(high-place, place-low)+t.Track.Step()/2))
}

// momentMotion tells whether the camera stood, by the track, else by the pictures.
func (t *Timeline) momentMotion(at timecode.Video, stands []Stand) []words.Sentence {
	for _, s := range t.Track.Stands() {
		if s.From <= at && at <= s.To {
			return []words.Sentence{words.Tell("The camera stood there from %s to %s.", s.From, s.To)}
		}
	}
	for _, s := range stands {
		if s.From <= at && at <= s.To {
			return []words.Sentence{words.Tell("The pictures stand still there, from %s to %s.", s.From, s.To)}
		}
	}
	p := t.DistanceAt(at)
	switch {
	case p.State == distance.Unread:
		return nil
	case p.Direction == distance.In:
		return []words.Sentence{words.Tell("It was being pushed in.")}
	case p.Direction == distance.Out:
		return []words.Sentence{words.Tell("It was being pulled back.")}
	}
	return []words.Sentence{words.Tell("It moved too little for its direction to be known.")}
}

func (t *Timeline) momentClock(at timecode.Video) []words.Sentence {
	lines := []words.Sentence{words.Tell("Nothing ties the log's clock to this moment.")}
	if t.Clock != nil {
		if said, tied := t.Clock.DescribeAt(at); tied {
			lines[0] = said
		}
	}
	civil, known := t.TrueTime(at)
	source := t.TimeSource(at)
	switch {
	case !known:
		lines = append(lines, words.Tell("The true time isn't known."))
	case source.Unchecked():
		lines = append(lines, words.Tell("The true time may be %s, by the %s, which nobody has checked.", timecode.FormatTrue(civil), string(source)))
	default:
		lines = append(lines, words.Tell("The true time is %s, by the %s.", timecode.FormatTrue(civil), string(source)))
	}
	return lines
}

// momentRows tells of the rows that may be meant, else of the nearest one.
func (t *Timeline) momentRows(at timecode.Video) []words.Sentence {
	var near []Observation
	nearest := -1
	off := func(o Observation) time.Duration { return o.Video.Sub(at).Abs() }
	for i, o := range t.Observations {
		if off(o) <= max(momentNear, o.Uncertainty) || o.VideoEnd != nil && o.Video <= at && at <= *o.VideoEnd {
			near = append(near, o)
		}
		if nearest < 0 || off(o) < off(t.Observations[nearest]) {
			nearest = i
		}
	}
	if len(near) == 0 && nearest >= 0 {
		near = append(near, t.Observations[nearest])
	}
	if len(near) == 0 {
		return []words.Sentence{words.Tell("No row is placed on the recording.")}
	}
	var lines []words.Sentence
	for _, o := range near {
		which := words.Tell("at this moment")
		switch d := o.Video.Sub(at); {
		case d < 0:
			which = words.Tell("%s before", about(-d))
		case d > 0:
			which = words.Tell("%s after", about(d))
		}
		lines = append(lines, words.Plain("%s %s", written(o.Entry),
			words.Tell("It is observation %d, at %s, %s, give or take %s in 19 of 20 cases.", o.Number, o.Video, which, about(o.Uncertainty))))
	}
	return lines
}
