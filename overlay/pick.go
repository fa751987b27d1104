package overlay

import (
	"fmt"
	"strconv"
	"strings"

	ffmpeg "github.com/u2takey/ffmpeg-go"
)

// Pick keeps only the frames of the plan, at the recording's own times: it comes
// before Graph, so that nothing is drawn on frames that nobody will see. The stream
// must hold every frame of the recording from frame first on.
//
// Which frames, and in CloseUp how much time to take off, is asked by halves: of
// five hundred ranges it takes nine questions a frame.
func (f Findings) Pick(in *ffmpeg.Stream, first int) *ffmpeg.Stream {
	if len(f.Ranges) == 0 {
		return in.Filter("select", ffmpeg.Args{"0"})
	}
	return in.Filter("select", ffmpeg.Args{f.picked(first)})
}

// CloseUp has the picked frames run from zero without a gap. It comes after Graph,
// since captions go by the recording's times.
func (f Findings) CloseUp(in *ffmpeg.Stream) *ffmpeg.Stream {
	if len(f.Ranges) == 0 {
		return in
	}
	return in.Filter("setpts", ffmpeg.Args{f.closedUp()})
}

// picked is ffmpeg's expression for "frame n is in a range".
func (f Findings) picked(first int) string {
	last := func(i int) string { return fmt.Sprintf("lte(n,%d)", f.Ranges[i].Last-first) }
	inside := halves("n", 0, len(f.Ranges), func(i int) int { return f.Ranges[i].First - first }, last)
	return fmt.Sprintf("if(lt(n,%d),0,%s)", f.Ranges[0].First-first, inside)
}

// closedUp is ffmpeg's expression for a picked frame's time. N counts those.
// The sum is rounded, since setpts cuts off what it is given.
func (f Findings) closedUp() string {
	start := make([]int, len(f.Ranges))
	for i, n := 0, 0; i < len(f.Ranges); i++ {
		start[i] = n
		n += f.Ranges[i].Last - f.Ranges[i].First + 1
	}
	skip := func(i int) string { return seconds(int64(f.skip[i])) }
	return "round((T-" + halves("N", 0, len(f.Ranges), func(i int) int { return start[i] }, skip) + ")/TB)"
}

// halves is the expression that gives leaf(i) for the last i in [from, to) whose
// start isn't after the variable.
func halves(variable string, from, to int, start func(int) int, leaf func(int) string) string {
	if to-from == 1 {
		return leaf(from)
	}
	mid := (from + to) / 2
	return "if(lt(" + variable + "," + strconv.Itoa(start(mid)) + ")," +
		halves(variable, from, mid, start, leaf) + "," + halves(variable, mid, to, start, leaf) + ")"
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
