package distance

import (
	"slices"
	"sort"
	"time"

	"pushcue/timeline/timecode"
)

// A Stand is a time during which the camera stood still.
type Stand struct {
	From, To timecode.Video
	Metres   Metres
}

// A camera stands when it stays for two seconds and moves less than 2 cm a
// second on the whole (common practice, no published source).
const (
	shortestStand        = 2 * time.Second
	standSpeed    Metres = 0.02
	sway          Metres = 0.03 // a camera on a stiff cable is never quite still
)

// Stands are the times the camera stood still, in video order.
func (t *Track) Stands() []Stand {
	if t == nil {
		return nil
	}
	return t.stands
}

func (t *Track) standing(v timecode.Video) bool {
	i := sort.Search(len(t.stands), func(i int) bool { return t.stands[i].To >= v })
	return i < len(t.stands) && t.stands[i].From <= v
}

// findStands takes, from left to right, the longest runs of readings that stay
// within the counter's step, with no gap in them.
func findStands(rs []Reading, places []Metres, gap time.Duration, step Metres) []Stand {
	tolerance := max(step*1.01, sway)
	var stands []Stand
	run := window{places: places}
	for next := range rs {
		broken := next > run.from && rs[next].At.Sub(rs[next-1].At) > gap
		if broken || !run.fits(next, tolerance) {
			if s, ok := run.stand(rs, next); ok {
				stands = append(stands, s)
				run.restart(next)
			} else if broken {
				run.restart(next)
			}
		}
		run.add(next)
		run.shrink(tolerance)
	}
	if s, ok := run.stand(rs, len(rs)); ok {
		stands = append(stands, s)
	}
	return stands
}

// A window is a run of readings that knows its smallest and largest value; each
// reading enters and leaves once, so that hours of them take one walk.
type window struct {
	places    []Metres
	from      int
	low, high []int // indices of candidates, best first
}

func (w *window) restart(at int) { w.from, w.low, w.high = at, w.low[:0], w.high[:0] }

func (w *window) fits(i int, tolerance Metres) bool {
	if len(w.low) == 0 {
		return true
	}
	low, high := min(w.places[w.low[0]], w.places[i]), max(w.places[w.high[0]], w.places[i])
	return high-low <= tolerance
}

func (w *window) add(i int) {
	for len(w.low) > 0 && w.places[w.low[len(w.low)-1]] >= w.places[i] {
		w.low = w.low[:len(w.low)-1]
	}
	for len(w.high) > 0 && w.places[w.high[len(w.high)-1]] <= w.places[i] {
		w.high = w.high[:len(w.high)-1]
	}
	w.low, w.high = append(w.low, i), append(w.high, i)
}

// shrink drops readings from the front until the rest lies within tolerance.
func (w *window) shrink(tolerance Metres) {
	for w.places[w.high[0]]-w.places[w.low[0]] > tolerance {
		w.from++
		if w.low[0] < w.from {
			w.low = w.low[1:]
		}
		if w.high[0] < w.from {
			w.high = w.high[1:]
		}
	}
}

// stand is the run up to end as a stand, its edges trimmed to where the camera
// had arrived; false when it was too short or crept.
func (w *window) stand(rs []Reading, end int) (Stand, bool) {
	if end <= w.from {
		return Stand{}, false
	}
	values := slices.Clone(w.places[w.from:end])
	slices.Sort(values)
	middle := values[len(values)/2]
	spread := values[len(values)-1] - values[0]
	first, last := w.from, end-1
	for first < last && (w.places[first]-middle).Abs() > spread/2 {
		first++
	}
	for last > first && (w.places[last]-middle).Abs() > spread/2 {
		last--
	}
	s := Stand{From: rs[first].At, To: rs[last].At, Metres: middle}
	lasted := s.To.Sub(s.From)
	crept := (w.places[last] - w.places[first]).Abs()
	return s, lasted >= shortestStand && float64(crept) <= float64(standSpeed)*lasted.Seconds()
}

// standsBetween are the stands that share a moment with from … to.
func (t *Track) standsBetween(from, to timecode.Video) []Stand {
	first := sort.Search(len(t.stands), func(i int) bool { return t.stands[i].To >= from })
	last := sort.Search(len(t.stands), func(i int) bool { return t.stands[i].From > to })
	return t.stands[first:max(first, last)]
}
