package distance

import (
	"fmt"
	"sort"

	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// Taped is a length known for certain, to correct a counter that slips.
type Taped struct {
	Counter Metres // what the counter showed there, before any correction
	Length  Metres // what it truly is from the start of the line
}

// A Correction turns what the counter showed into the length along the line:
// straight from the zero through each taped point, the last slope going on.
// The zero value changes nothing.
type Correction struct {
	Zero  Metres  // what the counter showed with the head at the start of the line
	Taped []Taped // in any order
}

// Apply corrects one shown length. Taped points that Check finds unusable are passed over.
func (c Correction) Apply(shown Metres) Metres { return c.knots().apply(shown) }

// Check names the taped points that can't be used, each by its two lengths. None
// means that Apply uses them all.
func (c Correction) Check() fault.List {
	var faults fault.List
	taped, counter := c.sorted(), c.Zero
	length := Metres(0)
	for _, t := range taped {
		if why := unusable(counter, length, t); !why.Empty() {
			faults = append(faults, fault.Fault{
				Column: "distance.taped",
				Value:  fmt.Sprintf("counter %s, length %s", plain(t.Counter), plain(t.Length)),
				Text:   words.Tell("this taped length can't be used: %s", why),
				Hint:   words.Tell("give counter as the counter showed it and length as taped from the start of the line; mind the units"),
			})
			continue
		}
		counter, length = t.Counter, t.Length
	}
	return faults
}

// unusable says why a taped point can't follow the one before it. A counter
// that is out by more than half isn't slipping: a unit was mixed up (common
// practice, no published source).
func unusable(counter, length Metres, t Taped) words.Sentence {
	slope := float64((t.Length - length) / (t.Counter - counter))
	switch {
	case !(t.Counter > counter):
		return words.Tell("the counter must have gone on since the zero and the taped length before it")
	case !(t.Length > length):
		return words.Tell("it doesn't lie further along than the one before it")
	case slope < 0.5 || slope > 2:
		return words.Tell("it would make the counter wrong by a factor of %.2g", slope)
	}
	return words.Sentence{}
}

func (c Correction) sorted() []Taped {
	taped := append([]Taped(nil), c.Taped...)
	sort.SliceStable(taped, func(i, j int) bool { return taped[i].Counter < taped[j].Counter })
	return taped
}

// knots are the corners of the correction, the zero first; only usable points.
type knots []Taped

func (c Correction) knots() knots {
	ks := knots{{Counter: c.Zero}}
	for _, t := range c.sorted() {
		last := ks[len(ks)-1]
		if unusable(last.Counter, last.Length, t).Empty() {
			ks = append(ks, t)
		}
	}
	return ks
}

func (ks knots) apply(shown Metres) Metres {
	if len(ks) == 1 {
		return shown - ks[0].Counter
	}
	i := sort.Search(len(ks), func(i int) bool { return ks[i].Counter > shown })
	i = min(max(i, 1), len(ks)-1)
	a, b := ks[i-1], ks[i]
	return a.Length + (shown-a.Counter)*(b.Length-a.Length)/(b.Counter-a.Counter)
}

func plain(m Metres) string { return fmt.Sprintf("%.4g m", float64(m)) }
