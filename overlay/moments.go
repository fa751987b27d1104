package overlay

import (
	"time"

	"pushcue/timeline/timecode"
)

// A script counts hundredths of a second and libass compares them with frames'
// times cut off to milliseconds. So an event starts midway between two frames:
// nothing that either rounds away can move it to another frame, as long as the
// two are leastApart from each other.
const (
	hundredth  = 10 * time.Millisecond
	leastApart = 12 * time.Millisecond
	mostSlow   = 120
)

// slowness is how many times slower a script must run for its hundredths to tell
// any two frames apart.
func slowness(frames []timecode.Video) int {
	least := time.Hour
	for i := 1; i < len(frames); i++ {
		if apart := frames[i].Sub(frames[i-1]); apart > 0 {
			least = min(least, apart)
		}
	}
	return int(min((leastApart+least-1)/least, mostSlow))
}

// moment is when frame i comes up, in the script's hundredths: midway to the
// frame before. The number after the last frame's gives the end of all.
func (l *Layout) moment(i int) int64 {
	frames, slow := l.teller.t.Recording.Frames, int64(l.Slow)
	switch {
	case i <= 0:
		return 0
	case i >= len(frames):
		return int64(l.teller.t.Recording.End)*slow/int64(hundredth) + 1
	}
	twice := int64(frames[i-1] + frames[i])
	return (twice*slow + int64(hundredth)) / (2 * int64(hundredth))
}
