package overlay

import (
	"fmt"
	"strconv"
	"strings"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/internal/ffmpeg"
)

// Pick keeps only the frames of the plan, at the recording's own times: it comes
// before Graph, so that nothing is drawn on frames that nobody will see. The stream
// must hold every frame of the recording from frame first on.
//
// Which frames, and in CloseUp how much time to take off, is asked by halves: of
// five hundred ranges it takes nine questions a frame.
func (f Findings) Pick(in *ff.Stream, first int) *ff.Stream {
	if len(f.Ranges) == 0 {
		return in.Filter("select", ff.Args{"0"})
	}
	return in.Filter("select", ff.Args{f.picked(first)})
}

// CloseUp has the picked frames run from zero without a gap. It comes after Graph,
// since captions go by the recording's times.
func (f Findings) CloseUp(in *ff.Stream) *ff.Stream {
	if len(f.Ranges) == 0 {
		return in
	}
	return in.Filter("setpts", ff.Args{f.closedUp()})
}

// picked is ffmpeg's expression for "frame n is in a range".
func (f Findings) picked(first int) string {
	last := func(i int) string { return fmt.Sprintf("lte(n,%d)", f.Ranges[i].Last-first) }
	from := func(i int) string { return strconv.Itoa(f.Ranges[i].First - first) }
	inside := ffmpeg.Halves("n", len(f.Ranges), from, last)
	return fmt.Sprintf("if(lt(n,%d),0,%s)", f.Ranges[0].First-first, inside)
}

// closedUp is ffmpeg's expression for a picked frame's time. N counts those.
// The sum is rounded, since setpts cuts off what it is given.
func (f Findings) closedUp() string {
	start := make([]string, len(f.Ranges))
	for i, n := 0, 0; i < len(f.Ranges); i++ {
		start[i] = strconv.Itoa(n)
		n += f.Ranges[i].Last - f.Ranges[i].First + 1
	}
	skip := func(i int) string { return seconds(int64(f.skip[i])) }
	return "round((T-" + ffmpeg.Halves("N", len(f.Ranges), func(i int) string { return start[i] }, skip) + ")/TB)"
}

// seconds writes nanoseconds as ffmpeg reads a number: never with an exponent.
func seconds(ns int64) string {
	sign := ""
	if ns < 0 {
		sign, ns = "-", -ns
	}
	s := fmt.Sprintf("%s%d.%09d", sign, ns/1e9, ns%1e9)
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}
