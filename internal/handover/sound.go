package handover

import (
	"fmt"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/frames"
	"pushcue/internal/ffmpeg"
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
		Filter("aselect", ff.Args{choose(spans, func(s heardSpan) string {
			return fmt.Sprintf("between(t,%s,%s)", seconds(s.from-halfGrain), seconds(s.to-halfGrain))
		}, "t")}).
		Filter("asetpts", ff.Args{"(T+(" + choose(spans, func(s heardSpan) string { return seconds(s.at - s.from) }, "T") + "))/TB"}).
		Filter("aresample", nil, ff.KwArgs{"async": "1", "min_hard_comp": "0.001", "first_pts": "0"})
}

const halfGrain = timecode.Video(grain * 1_000_000_000 / 48_000 / 2)

// choose is the expression for the value of the span that a time belongs to.
func choose(spans []heardSpan, value func(heardSpan) string, variable string) string {
	if len(spans) == 0 {
		return "0"
	}
	return ffmpeg.Halves(variable, len(spans),
		func(i int) string { return seconds(spans[i].from - halfGrain) },
		func(i int) string { return value(spans[i]) })
}
