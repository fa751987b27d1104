package clock

import (
	"fmt"
	"math"
	"strings"

	"pushcue/timeline/fault"
)

// contradictions names the anchors that can't all be right, pair by pair.
func contradictions(parts []Span, anchors []Anchor, ss []sighting, o Options) fault.List {
	var faults fault.List
	for i := range ss {
		for j := i + 1; j < len(ss) && len(faults) < 5; j++ {
			if bad, ok := quarrel(parts, anchors, ss[i], ss[j], o); ok {
				faults = append(faults, bad)
			}
		}
	}
	if len(faults) == 0 {
		names := make([]string, len(ss))
		for i, s := range ss {
			names[i] = anchors[s.anchor].Name
		}
		faults = fault.List{{
			Text: strings.Join(names, ", ") + " lie on no common line, and no majority of them does",
			Hint: "look each of them up again in the recording, and add one that you are sure of",
		}}
	}
	return faults
}

// quarrel says why two anchors, a the earlier in the recording, can't both be
// right if the recording ran on between them.
func quarrel(parts []Span, anchors []Anchor, a, b sighting, o Options) (bad fault.Fault, ok bool) {
	first, second := anchors[a.anchor], anchors[b.anchor]
	video, log := b.x-a.x, b.x+b.y-a.x-a.y
	let := a.a + a.b + b.a + b.b + 0.5
	apart := func(what string, s float64) string { return saySpan(seconds(s)) + " of " + what }
	switch {
	case first.Video == second.Video && math.Abs(log) > let, first.Log == second.Log && video > let:
		return fault.Fault{
			Text: fmt.Sprintf("%s and %s name one moment twice: %s lie between them, but %s", first.Name, second.Name,
				apart("recording", video), apart("log time", log)),
			Hint: "correct one of them, or remove it",
		}, true
	case log < -(a.a + b.a):
		return fault.Fault{
			Text: fmt.Sprintf("%s and %s cross: %s comes first in the recording (%s before %s) but last in the log (%s after %s)",
				first.Name, second.Name, first.Name, first.Video, second.Video, o.sayLog(first.Log), o.sayLog(second.Log)),
			Hint: "correct one of them, and look whether the parts are named in the order they were filmed",
		}, true
	case a.part != b.part:
		if between := video; log < between-let-mostRate*between {
			return fault.Fault{
				Text: fmt.Sprintf("by %s and %s, %s would have begun %s before %s ended", first.Name, second.Name,
					partName(parts, b.part), saySpan(seconds(between-log)), partName(parts, b.part-1)),
				Hint: "correct one of them, or add another anchor in one of these parts",
			}, true
		}
		return fault.Fault{}, false
	case log > video+let+mostRate*video:
		return fault.Fault{
			Text: fmt.Sprintf("between %s and %s %s passed but %s: more than any clock drifts, so either the recording was paused between them or one of them is wrong",
				first.Name, second.Name, apart("log time", log), apart("recording", video)),
			Hint: "add a second anchor after the later one: two that agree there show a pause, and tell a wrong anchor",
		}, true
	case log < video-let-mostRate*video:
		return fault.Fault{
			Text: fmt.Sprintf("between %s and %s only %s passed in %s: more than any clock drifts, so one of them is wrong",
				first.Name, second.Name, apart("log time", log), apart("recording", video)),
			Hint: "look both up again in the recording, or add a third anchor to tell which one is wrong",
		}, true
	}
	return fault.Fault{}, false
}

// undecided: some anchor is wrong, but several could be it.
func undecided(anchors []Anchor, ss []sighting, ways []verdict) fault.List {
	suspect := make([]bool, len(ss))
	for _, w := range ways {
		for i, aside := range w.aside {
			suspect[i] = suspect[i] || aside
		}
	}
	var names []string
	for i, s := range ss {
		if suspect[i] {
			names = append(names, anchors[s.anchor].Name)
		}
	}
	return fault.List{{
		Text: fmt.Sprintf("the anchors don't agree, and nothing tells which is wrong: %s", strings.Join(names, " or ")),
		Hint: "look these up again in the recording, or add one more that you are sure of",
	}}
}
