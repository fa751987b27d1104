package clock

import (
	"math"
	"sort"
	"time"

	"pushcue/timeline/timecode"
)

// Tie fits the log clock to the recording by anchors.
//
// One anchor ties its part, two in a part tell the rate as well, and from the
// third on the anchors check each other: a minority that doesn't agree is set
// aside and named, a pause is found where at least two anchors after it agree
// that the log clock ran on while the recording didn't.
//
// The error is a fault.List that names the anchors which contradict each other
// and says what to do next.
func Tie(parts []Span, anchors []Anchor, o Options) (*Fit, error) {
	if faults := check(parts, anchors, o); len(faults) > 0 {
		return nil, faults
	}
	zero := zeroOf(anchors[0].Log, anchors[0].Video)
	sightings := sight(parts, anchors, zero)
	search := newSearch(sightings, parts)
	best := search.best()
	if best.evidence <= impossible {
		return nil, contradictions(parts, anchors, sightings, o)
	}
	best, rivals, ok := search.settle(best)
	if !ok {
		return nil, undecided(anchors, sightings, rivals)
	}
	ideas, most := quartz, mostRate
	if best.uneven {
		ideas, most = uneven, mostSkew
	}
	groups := search.groups(best.explanation)
	beliefs, ok := solve(groups, ideas, most, best.scatters)
	if !ok {
		return nil, contradictions(parts, anchors, sightings, o)
	}
	f := &Fit{Basis: Anchors, Uneven: best.uneven, parts: parts, zero: zero, options: o}
	f.lay(groups, beliefs)
	f.nameSetAside(anchors, sightings, best.aside)
	f.namePauses(anchors, groups)
	return f, nil
}

// zeroOf is the log moment that counts as 0 inside a fit: differences of moments
// are small and keep their nanoseconds in a float64, moments wouldn't.
func zeroOf(l timecode.Log, v timecode.Video) timecode.Log { return l - timecode.Log(v) }

// sight turns anchors into sightings, in order of recording time.
func sight(parts []Span, anchors []Anchor, zero timecode.Log) []sighting {
	ss := make([]sighting, len(anchors))
	for i, a := range anchors {
		ss[i] = sighting{
			anchor: i,
			part:   partAt(parts, a.Video),
			x:      a.Video.Seconds(),
			y:      (a.Log - zero - timecode.Log(a.Video)).Seconds(),
			a:      a.LogHalf.Seconds(),
			b:      a.VideoHalf.Seconds(),
		}
	}
	sort.SliceStable(ss, func(i, j int) bool { return ss[i].x < ss[j].x })
	return ss
}

// partAt is the part that shows v; the first frame of a part is its own.
func partAt(parts []Span, v timecode.Video) int {
	return max(0, sort.Search(len(parts), func(i int) bool { return parts[i].Start > v })-1)
}

// lay cuts the recording into segments: a stretch for each group of anchors, an
// untied one for each pause and each part that nothing ties.
func (f *Fit) lay(groups [][]sighting, beliefs []belief) {
	g := 0
	for p, part := range f.parts {
		from := part.Start
		for ; g < len(groups) && groups[g][0].part == p; g++ {
			to := part.End
			paused := g+1 < len(groups) && groups[g+1][0].part == p
			if paused {
				to = timecode.VideoSeconds(groups[g][len(groups[g])-1].x)
			}
			f.add(Segment{From: from, To: to, Part: p, Tied: true, Residual: residual(groups[g], beliefs[g])}, beliefs[g])
			if from = to; paused {
				from = timecode.VideoSeconds(groups[g+1][0].x)
				f.add(Segment{From: to, To: from, Part: p}, belief{})
			}
		}
		if from < part.End || part.Start == part.End {
			f.add(Segment{From: from, To: part.End, Part: p}, belief{})
		}
	}
	f.bridgeParts()
}

func (f *Fit) add(s Segment, b belief) {
	if s.Tied {
		s.LogAtFrom = f.logAt(b, s.From)
		s.RatePPM = b.mean.rate / ppm
	}
	f.Segments = append(f.Segments, s)
	f.beliefs = append(f.beliefs, b)
}

// bridgeParts ties a part without anchors by how much later than a tied one its
// file says that it began: weak, and only where the caller gave such times.
func (f *Fit) bridgeParts() {
	if len(f.options.Began) != len(f.parts) {
		return
	}
	half := f.options.BeganHalf
	if half <= 0 {
		half = 5 * time.Second
	}
	for i, s := range f.Segments {
		whole := s.From == f.parts[s.Part].Start && s.To == f.parts[s.Part].End
		if s.Tied || !whole || f.options.Began[s.Part].IsZero() {
			continue
		}
		from, ok := f.nearestTied(i)
		if !ok {
			continue
		}
		began := f.options.Began[s.Part].Sub(f.options.Began[f.Segments[from].Part])
		start := f.parts[f.Segments[from].Part].Start
		gained := began.Seconds() - s.From.Sub(start).Seconds()
		b := f.beliefs[from].moved(start.Seconds(), s.From.Seconds(), gained, half.Seconds())
		f.Segments[i].Tied, f.Segments[i].Weak = true, true
		f.Segments[i].LogAtFrom, f.Segments[i].RatePPM = f.logAt(b, s.From), b.mean.rate/ppm
		f.beliefs[i] = b
	}
}

// nearestTied is the tied segment nearest to segment i that starts its part, whose
// beginning is known on the recorder's clock.
func (f *Fit) nearestTied(i int) (int, bool) {
	for d := 1; d < len(f.Segments); d++ {
		for _, j := range []int{i - d, i + d} {
			if j < 0 || j >= len(f.Segments) {
				continue
			}
			s := f.Segments[j]
			if s.Tied && !s.Weak && s.From == f.parts[s.Part].Start && !f.options.Began[s.Part].IsZero() {
				return j, true
			}
		}
	}
	return 0, false
}

// residual is the root mean square of what the anchors are off; 0 where one anchor
// stands alone.
func residual(ss []sighting, b belief) time.Duration {
	if len(ss) < 2 {
		return 0
	}
	var sum float64
	for _, s := range ss {
		r := s.y - b.mean.at(s.x-b.middle)
		sum += r * r
	}
	return seconds(math.Sqrt(sum / float64(len(ss))))
}
