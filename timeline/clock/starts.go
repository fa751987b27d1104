package clock

import (
	"time"

	"pushcue/timeline/timecode"
)

// A Start is what is known of a part's first frame on the log's clock: somewhere
// in At ± Half, all moments alike. Known false: nothing.
type Start struct {
	At    timecode.Log
	Half  time.Duration
	Known bool
}

// FromStarts ties each part by its own start: from the job sheet or from the files.
// The rate stays what clocks usually do. A part whose start isn't known stays untied,
// unless o.Began tells its distance from one that is.
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
		x := parts[p].Start.Seconds()
		groups = append(groups, []sighting{{part: p, x: x, y: f.secondsOf(s.At) - x, a: max(0, s.Half.Seconds())}})
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
