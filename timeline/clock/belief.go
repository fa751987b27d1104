package clock

import (
	"math"
	"time"
)

// at is how far ahead the log clock is, dx seconds after the line's middle.
func (l line) at(dx float64) float64 { return l.offset + l.rate*dx }

// recording is the recording's time at which the log shows t, both in seconds.
func (b belief) recording(l line, t float64) float64 {
	return b.middle + (t-b.middle-l.offset)/(1+l.rate)
}

// moved is the same clock in a part that begins at recording time to, gained
// seconds of log time later than it would if the recording had gone on from the
// part that began at from; give or take half, all values alike.
func (b belief) moved(from, to, gained, half float64) belief {
	m := belief{middle: to, mean: line{b.mean.at(to-b.middle) + gained, b.mean.rate}}
	for k, l := range b.lines {
		jitter := half * (2*vanDerCorput(k, 3) - 1)
		m.lines = append(m.lines, line{l.at(to-b.middle) + gained + jitter, l.rate})
	}
	return m
}

// trust is the share of cases that a ± holds.
const trust = 0.95

// halfWidth is the smallest ± round 0 that holds the share trust of all lines'
// deviations, each blurred by a uniform error of ± blur.
func halfWidth(deviations []float64, blur float64) float64 {
	var far float64
	for i, d := range deviations {
		deviations[i] = math.Abs(d)
		far = max(far, deviations[i])
	}
	low, high := 0.0, far+blur
	for range 40 {
		if high-low <= 1e-3*high || high < 1e-9 {
			break
		}
		w := (low + high) / 2
		if held(deviations, blur, w) < trust {
			low = w
		} else {
			high = w
		}
	}
	return high
}

// held is the share of the blurred deviations within ± w.
func held(deviations []float64, blur, w float64) float64 {
	var sum float64
	for _, d := range deviations {
		switch {
		case d+blur <= w:
			sum++
		case d-blur < w: // blur > 0 here, or d would have been inside
			sum += (min(w, d+blur) - max(-w, d-blur)) / (2 * blur)
		}
	}
	return sum / float64(len(deviations))
}

// seconds is s as a duration, held within what a duration can say.
func seconds(s float64) time.Duration {
	const most = 1 << 62
	return time.Duration(max(-most, min(most, math.Round(s*1e9))))
}
