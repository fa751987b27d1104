package handover

import (
	"fmt"
	"strings"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/frames"
	"pushcue/timeline/timecode"
)

// heard is the sound that goes with the frames shown.
func (e *encode) heard(rec *frames.Recording, in *ff.Stream) *ff.Stream {
	if e.plan == nil {
		from, to := rec.Frame(e.first).At, rec.Frame(e.last).Until
		return in.Filter("atrim", nil, ff.KwArgs{"start": seconds(from), "end": seconds(to)}).
			Filter("asetpts", ff.Args{"PTS-STARTPTS"})
	}
	spans := make([]heardSpan, len(e.plan.Ranges))
	var at timecode.Video
	for i, r := range e.plan.Ranges {
		spans[i] = heardSpan{from: rec.Frame(r.First).At, to: rec.Frame(r.Last).Until, at: at}
		at += spans[i].to - spans[i].from
	}
	return closeUp(in, spans)
}

// A heardSpan is a stretch of sound and where it goes.
type heardSpan struct{ from, to, at timecode.Video }

// grain is how finely sound is cut, in samples at 48 kHz: a hundredth of a second.
const grain = 480

// closeUp keeps the spans and moves each to its place. What the grain makes a
// span too long or too short is cut or filled with silence at its end, so that
// sound and pictures don't drift apart over many excerpts.
func closeUp(in *ff.Stream, spans []heardSpan) *ff.Stream {
	return in.
		Filter("asetnsamples", nil, ff.KwArgs{"n": fmt.Sprint(grain), "p": "0"}).
		Filter("aselect", ff.Args{choose(spans, "0", func(s heardSpan) string {
			return fmt.Sprintf("between(t,%s,%s)", seconds(s.from-halfGrain), seconds(s.to-halfGrain))
		}, "t")}).
		Filter("asetpts", ff.Args{"(T+(" + choose(spans, "0", func(s heardSpan) string { return seconds(s.at - s.from) }, "T") + "))/TB"}).
		Filter("aresample", nil, ff.KwArgs{"async": "1", "min_hard_comp": "0.001", "first_pts": "0"})
}

const halfGrain = timecode.Video(grain * 1_000_000_000 / 48_000 / 2)

// choose writes an expression that takes the value of the span a time belongs to:
// halving at each step, so that it is worked out in few steps however many spans
// there are.
func choose(spans []heardSpan, none string, value func(heardSpan) string, variable string) string {
	switch len(spans) {
	case 0:
		return none
	case 1:
		return value(spans[0])
	}
	half := len(spans) / 2
	var b strings.Builder
	fmt.Fprintf(&b, "if(lt(%s,%s),", variable, seconds(spans[half].from-halfGrain))
	b.WriteString(choose(spans[:half], none, value, variable) + "," + choose(spans[half:], none, value, variable) + ")")
	return b.String()
}
