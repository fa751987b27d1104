package distance

import (
	"math"
	"slices"
	"sort"
	"time"

	"pushcue/timeline/timecode"
)

// State tells how well the track knows where the camera was.
type State int

const (
	Unread State = iota // outside the readings: no number
	About               // across a long gap between readings
	Filled              // between two readings close together
	Read                // at a reading
)

// Direction is which way the camera went.
type Direction int

const (
	Still Direction = iota
	In              // away from the access point
	Out             // pulled back
)

// A Point is where the camera was at one moment.
type Point struct {
	Metres    Metres // corrected; meaningless when State is Unread
	State     State
	Standing  bool // within a stand
	Direction Direction
	Unsure    bool // it rests on a reading that nobody is sure of
}

// TrackOptions say how readings become a track. The zero value corrects nothing
// and takes the defaults.
type TrackOptions struct {
	Correction
	Resets  []KnownReset
	Fastest Metres        // a second; no cable is pushed or pulled faster. 0: 1.5
	Gap     time.Duration // readings further apart leave a gap. 0: three usual spacings, 2 s … 10 s
}

// DefaultFastest is how fast a person pushes or pulls a cable at most, in metres
// a second (common practice, no published source).
const DefaultFastest Metres = 1.5

// atReading is how near to a reading a moment counts as read: half a frame at 25 a second.
const atReading = 20 * time.Millisecond

// A Track is where the camera was over the recording. A nil Track knows nothing
// and answers so. It is read-only and may be used by several goroutines.
type Track struct {
	readings []Reading // kept ones, in video order
	places   []Metres  // corrected, one a reading
	curve    *curve
	stands   []Stand
	lost     []span // the counter can't be believed there
	resets   []Reset
	offsets  []Metres // after each reset
	thrown   []Reading
	gap      time.Duration
	spacing  time.Duration // usual time between readings
	step     Metres
}

type span struct{ from, to timecode.Video }

// NewTrack makes a track of readings in any order. Readings that would need the
// cable to move faster than Fastest are set aside and told; where the counter was
// set anew it goes on from what was shown then, and Resets tells. No readings: a
// nil Track. The error is a fault.List of unusable taped lengths.
func NewTrack(rs []Reading, o TrackOptions) (*Track, []SetAside, error) {
	if err := o.Check().Err(); err != nil {
		return nil, nil, err
	}
	if o.Fastest <= 0 {
		o.Fastest = DefaultFastest
	}
	thrown := func(r Reading) bool { return r.Thrown }
	readings, places := corrected(slices.DeleteFunc(slices.Clone(rs), thrown), o.Correction)
	if len(readings) == 0 {
		return nil, nil, nil
	}
	step := resolution(places)
	t := &Track{step: step, gap: o.Gap}
	for _, r := range rs {
		if r.Thrown {
			t.thrown = append(t.thrown, r)
		}
	}
	kept := t.keep(readings, places, o)
	t.spacing = usualSpacing(t.readings)
	if t.gap <= 0 {
		t.gap = min(max(3*t.spacing, 2*time.Second), 10*time.Second)
	}
	t.curve = newCurve(t.readings, t.places)
	aside := t.tellJumps(readings, places, kept, o.Fastest)
	t.stands = findStands(t.readings, t.places, t.gap, step)
	return t, aside, nil
}

// keep takes the readings that a cable could have followed, between one setting of
// the counter and the next.
func (t *Track) keep(readings []Reading, places []Metres, o TrackOptions) (kept []bool) {
	var resets []int
	if !slices.ContainsFunc(readings, func(r Reading) bool { return r.Source == FromLog }) {
		w, u := bounds(readings, places, o.Fastest, t.step)
		resets = findResets(readings, places, w, u)
	}
	from := 0
	for _, until := range append(resets, len(readings)) {
		kept = append(kept, possible(readings[from:until], places[from:until], o.Fastest, t.step)...)
		from = until
	}
	next := 0
	for i, ok := range kept {
		if !ok {
			t.thrown = append(t.thrown, readings[i])
			continue
		}
		if n := len(t.readings); next < len(resets) && i >= resets[next] {
			last := t.readings[n-1]
			reset := Reset{Before: last.At, After: readings[i].At, From: last.Shown, To: readings[i].Shown}
			t.settle(&reset, o.Resets, places[i])
			t.resets = append(t.resets, reset)
			t.lost = append(t.lost, span{last.At + 1, readings[i].At - 1})
			next++
		}
		t.readings = append(t.readings, readings[i])
		t.places = append(t.places, places[i])
	}
	slices.SortStableFunc(t.thrown, byTime)
	return kept
}

// corrected sorts readings by time, drops those that aren't numbers, and corrects the rest.
func corrected(rs []Reading, c Correction) ([]Reading, []Metres) {
	readings := slices.DeleteFunc(slices.Clone(rs), func(r Reading) bool {
		return math.IsNaN(float64(r.Shown)) || math.IsInf(float64(r.Shown), 0)
	})
	slices.SortStableFunc(readings, byTime)
	ks := c.knots()
	places := make([]Metres, len(readings))
	for i, r := range readings {
		places[i] = ks.apply(r.Shown)
	}
	return readings, places
}

// resolution is the counter's step, judged by how close together the values are
// that it shows: a quarter of the way up, since a misread value lies anywhere.
func resolution(places []Metres) Metres {
	const finest, coarsest = 0.005, PerFoot
	values := slices.Clone(places)
	slices.Sort(values)
	var steps []Metres
	for i := 1; i < len(values); i++ {
		if d := values[i] - values[i-1]; d > 0.001 {
			steps = append(steps, d)
		}
	}
	if len(steps) == 0 {
		return finest
	}
	slices.Sort(steps)
	return min(max(steps[len(steps)/4], finest), coarsest)
}

func byTime(a, b Reading) int { return int(min(max(a.At-b.At, -1), 1)) }

// usualSpacing is the median time between readings; 0 for a single one.
func usualSpacing(rs []Reading) time.Duration {
	spacings := make([]time.Duration, 0, len(rs))
	for i := 1; i < len(rs); i++ {
		spacings = append(spacings, rs[i].At.Sub(rs[i-1].At))
	}
	if len(spacings) == 0 {
		return 0
	}
	slices.Sort(spacings)
	return spacings[len(spacings)/2]
}

// At is where the camera was at v.
func (t *Track) At(v timecode.Video) Point {
	if t == nil || t.isLost(v) {
		return Point{}
	}
	after := sort.Search(len(t.readings), func(i int) bool { return t.readings[i].At > v })
	var p Point
	for _, i := range []int{after - 1, after} {
		if i >= 0 && i < len(t.readings) && t.readings[i].At.Sub(v).Abs() <= atReading {
			p.State, p.Unsure = Read, t.readings[i].Unsure
		}
	}
	if p.State != Read {
		if after == 0 || after == len(t.readings) {
			return Point{}
		}
		before, next := t.readings[after-1], t.readings[after]
		p.State, p.Unsure = Filled, before.Unsure || next.Unsure
		if next.At.Sub(before.At) > t.gap {
			p.State = About
		}
	}
	p.Metres = t.curve.at(v) + t.Offset(v)
	p.Standing = t.standing(v)
	if !p.Standing {
		p.Direction = t.direction(v)
	}
	return p
}

func (t *Track) isLost(v timecode.Video) bool {
	i := sort.Search(len(t.lost), func(i int) bool { return t.lost[i].to >= v })
	return i < len(t.lost) && t.lost[i].from <= v
}

// direction looks a second to both sides, since a counter that shows decimetres
// stands still most of the time even while the camera creeps.
func (t *Track) direction(v timecode.Video) Direction {
	from, to := v.Add(-time.Second), v.Add(time.Second)
	for _, r := range t.resets {
		if r.After <= v {
			from = max(from, r.After)
		} else {
			to = min(to, r.Before)
		}
	}
	moved := t.curve.at(to) - t.curve.at(from)
	switch {
	case moved > t.step/2:
		return In
	case moved < -t.step/2:
		return Out
	}
	return Still
}

// Readings are those the track rests on, as the counter showed them, in video order.
func (t *Track) Readings() []Reading {
	if t == nil {
		return nil
	}
	return t.readings
}

// Place is where reading i of Readings has the camera, corrected.
func (t *Track) Place(i int) Metres { return t.places[i] + t.Offset(t.readings[i].At) }

// Resets are the moments at which the counter was set anew, in video order.
func (t *Track) Resets() []Reset {
	if t == nil {
		return nil
	}
	return t.resets
}

// Thrown are the readings that no cable could have reached, in video order.
func (t *Track) Thrown() []Reading {
	if t == nil {
		return nil
	}
	return t.thrown
}

// Gaps are the stretches between its first and last reading in which it claims no
// number: where readings are too far apart, or the counter can't be believed.
func (t *Track) Gaps() (gaps [][2]timecode.Video) {
	rs := t.Readings()
	for i := 1; i < len(rs); i++ {
		middle := rs[i-1].At + (rs[i].At-rs[i-1].At)/2
		if rs[i].At.Sub(rs[i-1].At) > t.gap || t.isLost(middle) {
			gaps = append(gaps, [2]timecode.Video{rs[i-1].At, rs[i].At})
		}
	}
	return gaps
}

// Sources are where its readings came from, each once, in the order they first come.
func (t *Track) Sources() []Source {
	var sources []Source
	for _, r := range t.Readings() {
		if !slices.Contains(sources, r.Source) {
			sources = append(sources, r.Source)
		}
	}
	return sources
}

// Step is the counter's resolution as its readings show it.
func (t *Track) Step() Metres {
	if t == nil {
		return 0
	}
	return t.step
}

// Spacing is the usual time between its readings: what happened between two of
// them is known no better.
func (t *Track) Spacing() time.Duration {
	if t == nil {
		return 0
	}
	return t.spacing
}

// Around are the moments of the readings before and after v; v itself where
// there is none.
func (t *Track) Around(v timecode.Video) (before, after timecode.Video) {
	before, after = v, v
	i := sort.Search(len(t.Readings()), func(i int) bool { return t.readings[i].At > v })
	if i > 0 {
		before = t.readings[i-1].At
	}
	if i < len(t.Readings()) {
		after = t.readings[i].At
	}
	return before, after
}
