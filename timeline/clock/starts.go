package clock

import (
	"time"

	"pushcue/timeline/timecode"
)

// A Start is what is known of a part's first frame on the log's clock: somewhere
// in At ± Half, all moments alike. Known false: nothing. Where more moments of the
// part are known so, Sights holds all of them, and they tell the rate, too.
type Start struct {
	At     timecode.Log
	Half   time.Duration
	Known  bool
	Sights []Sight
}

// A Sight is a moment of the recording at which the log's clock showed Log ± Half.
type Sight struct {
	Video timecode.Video
	Log   timecode.Log
	Half  time.Duration
}

// FromStarts ties each part by its own start: from the job sheet, from the files,
// or from the log's agreement with a distance track. The rate stays what clocks
// usually do, but for what several sights tell. A part whose start isn't known stays untied, unless o.Began tells
// its distance from one that is.
func FromStarts(parts []Span, starts []Start, basis Basis, o Options) *Fit {
	f := &Fit{Basis: basis, parts: parts, options: o}
	var groups [][]sighting
	for p, s := range starts {
		if p >= len(parts) || !s.Known {
			continue
		}
		if len(groups) == 0 {
			f.zero = zeroOf(s.At, parts[p].Start)
		}
		if len(s.Sights) == 0 {
			s.Sights = []Sight{{parts[p].Start, s.At, s.Half}}
		}
		var group []sighting
		for _, one := range s.Sights {
			x := one.Video.Seconds()
			group = append(group, sighting{part: p, x: x, y: f.secondsOf(one.Log) - x, a: max(0, one.Half.Seconds())})
		}
		groups = append(groups, group)
	}
	beliefs, ok := solve(groups, quartz, mostRate, scatterShares[:1])
	if !ok {
		groups, beliefs = nil, nil
	}
	f.lay(groups, beliefs)
	for i := range f.Segments {
		f.Segments[i].Weak = f.Segments[i].Weak || basis == FileTimes && f.Segments[i].Tied
	}
	return f
}

// FromStart ties the first part by the log's time of its first frame, known to
// ± half.
func FromStart(parts []Span, at timecode.Log, half time.Duration, o Options) *Fit {
	return FromStarts(parts, []Start{{At: at, Half: half, Known: true}}, Starts, o)
}

// FromFileTimes ties each part by the time found in its file, already moved onto
// the log's clock; nil where a file has none. Weak: recorders' clocks are often
// wrong, so half should be generous.
func FromFileTimes(parts []Span, began []*timecode.Log, half time.Duration, o Options) *Fit {
	starts := make([]Start, len(began))
	for p, at := range began {
		if at != nil {
			starts[p] = Start{At: *at, Half: half, Known: true}
		}
	}
	return FromStarts(parts, starts, FileTimes, o)
}
