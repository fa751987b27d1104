package clock

import (
	"time"

	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// mostAnchors bounds the search for wrong ones.
const mostAnchors = 50

// check finds what no fit could make sense of.
func check(parts []Span, anchors []Anchor, o Options) fault.List {
	switch {
	case len(parts) == 0:
		return fault.List{{Text: words.Tell("there is no recording to tie the log to"), Hint: words.Tell("name the recording's files in the job sheet under [recording]")}}
	case len(anchors) == 0:
		return fault.List{{Text: words.Tell("no anchor ties the log to the recording"),
			Hint: words.Tell("give a moment known in both as an [[anchor]], or the log's time of the first frame as starts under [recording]")}}
	case len(anchors) > mostAnchors:
		return fault.List{{Text: words.Tell("more anchors are given than can be weighed against each other"), Hint: words.Tell("keep the best 50")}}
	}
	var faults fault.List
	for i := range parts {
		if parts[i].End < parts[i].Start || i > 0 && parts[i].Start < parts[i-1].End {
			return fault.List{{Text: words.Tell("%s doesn't follow the part before it", partName(parts, i)), Hint: words.Tell("name the parts in the order they were filmed")}}
		}
	}
	for i, a := range anchors {
		if bad, ok := unusable(parts, a, anchors[0], o); !ok {
			faults = append(faults, bad)
			continue
		}
		for _, b := range anchors[:i] {
			if a.Log == b.Log && a.Video == b.Video {
				faults = append(faults, fault.Fault{
					Text: words.Tell("%s and %s are the same moment twice", b.Name, a.Name),
					Hint: words.Tell("remove one of them, or correct it if it was meant to be another moment"),
				})
			}
		}
	}
	return faults
}

// unusable says what is wrong with an anchor taken by itself.
func unusable(parts []Span, a, first Anchor, o Options) (bad fault.Fault, ok bool) {
	const coarsest, longest = 12 * time.Hour, 366 * 24 * time.Hour
	end := parts[len(parts)-1].End
	apart := float64(a.Log) - float64(first.Log)
	switch {
	case a.LogHalf < 0 || a.VideoHalf < 0 || a.LogHalf > coarsest || a.VideoHalf > coarsest:
		return fault.Fault{Text: words.Tell("%s has a resolution that ties nothing", a.Name), Hint: words.Tell("give the anchor's times to the minute or better")}, false
	case a.Video.Add(a.VideoHalf) < parts[0].Start:
		return fault.Fault{Text: words.Tell("%s lies before the recording starts", a.Name), Hint: words.Tell("count the anchor's video time from the first frame")}, false
	case a.Video.Add(-a.VideoHalf) > end:
		return fault.Fault{Text: words.Tell("%s lies at %s, but the recording ends at %s", a.Name, a.Video, end),
			Hint: words.Tell("correct the anchor's video time, or name the part that it counts from")}, false
	case apart > float64(longest) || apart < -float64(longest):
		return fault.Fault{Text: words.Tell("%s lies more than a year from %s on the log's clock", a.Name, first.Name), Hint: words.Tell("correct the date")}, false
	}
	return fault.Fault{}, true
}
