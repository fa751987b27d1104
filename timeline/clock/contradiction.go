package clock

import (
	"math"

	"pushcue/timeline/fault"
	"pushcue/timeline/words"
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
		names := make([]words.Sentence, len(ss))
		for i, s := range ss {
			names[i] = anchors[s.anchor].Name
		}
		faults = fault.List{{
			Text: words.Tell("%s lie on no common line, and no majority of them does", words.Join(names, words.Comma)),
			Hint: words.Tell("look each of them up again in the recording, and add one that you are sure of"),
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
	recorded, passed := saySpan(seconds(video)), saySpan(seconds(log))
	switch {
	case first.Video == second.Video && math.Abs(log) > let, first.Log == second.Log && video > let:
		return fault.Fault{
			Text: words.Tell("%s and %s name one moment twice: %s of recording lie between them, but %s of log time", first.Name, second.Name, recorded, passed),
			Hint: words.Tell("correct one of them, or remove it"),
		}, true
	case log < -(a.a + b.a):
		return fault.Fault{
			Text: words.Tell("%s and %s cross: %s comes first in the recording (%s before %s) but last in the log (%s after %s)", first.Name, second.Name, first.Name, first.Video, second.Video, o.sayLog(first.Log), o.sayLog(second.Log)),
			Hint: words.Tell("correct one of them, and look whether the parts are named in the order they were filmed"),
		}, true
	case a.part != b.part:
		if between := video; log < between-let-mostRate*between {
			return fault.Fault{
				Text: words.Tell("by %s and %s, %s would have begun %s before %s ended", first.Name, second.Name, partName(parts, b.part), saySpan(seconds(between-log)), partName(parts, b.part-1)),
				Hint: words.Tell("correct one of them, or add another anchor in one of these parts"),
			}, true
		}
		return fault.Fault{}, false
	case log > video+let+mostRate*video:
		return fault.Fault{
			Text: words.Tell("between %s and %s %s of log time passed but %s of recording: more than any clock drifts, so either the recording was paused between them or one of them is wrong", first.Name, second.Name, passed, recorded),
			Hint: words.Tell("add a second anchor after the later one: two that agree there show a pause, and tell a wrong anchor"),
		}, true
	case log < video-let-mostRate*video:
		return fault.Fault{
			Text: words.Tell("between %s and %s only %s of log time passed in %s of recording: more than any clock drifts, so one of them is wrong", first.Name, second.Name, passed, recorded),
			Hint: words.Tell("look both up again in the recording, or add a third anchor to tell which one is wrong"),
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
	var names []words.Sentence
	for i, s := range ss {
		if suspect[i] {
			names = append(names, anchors[s.anchor].Name)
		}
	}
	return fault.List{{
		Text: words.Tell("the anchors don't agree, and nothing tells which is wrong: %s", words.Join(names, words.Tell(" or "))),
		Hint: words.Tell("look these up again in the recording, or add one more that you are sure of"),
	}}
}
