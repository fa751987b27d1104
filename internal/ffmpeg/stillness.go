package ffmpeg

import (
	"context"
	"path/filepath"
	"strings"
	"time"

	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// Vitals are counts that grow while a child does anything: what it wrote to us, and what
// the system accounts to it. Where the system doesn't tell us (macOS, the BSDs), only
// what it wrote counts: ffmpeg reports its progress twice a second.
type vitals struct {
	said  int64  // pieces of output that were read
	spent uint64 // processor time, in the system's own unit
	moved uint64 // bytes read and written, wherever
}

// A stillness adds up for how long a child's vitals stay the same.
type stillness struct {
	most time.Duration // with so much of it the child hangs
	step time.Duration // how often it is looked at
	last vitals
	at   time.Time
	sum  time.Duration
}

// hangs is told the vitals at a moment and reports whether the child hangs. From one look
// to the next at most two steps count, however much later it is: the computer slept.
func (s *stillness) hangs(now time.Time, v vitals) bool {
	passed := min(now.Sub(s.at), 2*s.step)
	if s.at.IsZero() || v != s.last {
		s.sum, passed = 0, 0
	}
	s.at, s.last = now, v
	s.sum += passed
	return s.sum >= s.most
}

// watch gives the child up when it hangs. While its reader is at work on what it was
// given the child may have to wait for us, which is no hanging.
func (p process) watch(ctx context.Context, child *child, reading *reading, stop context.CancelCauseFunc) {
	s := stillness{most: p.stall, step: max(p.stall/20, time.Millisecond)}
	tick := time.NewTicker(s.step)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case now := <-tick.C:
			v := vitals{said: p.alive.Load()}
			v.spent, v.moved = child.account()
			if reading.busy.Load() {
				s = stillness{most: s.most, step: s.step}
			}
			if s.hangs(now, v) {
				stop(hung(p.path, p.stall))
				return
			}
		}
	}
}

func hung(path string, stall time.Duration) *Error {
	return &Error{
		Text: words.Tell("%s hangs: for %s it gave nothing, read nothing and used no processor time", strings.TrimSuffix(filepath.Base(path), ".exe"), timecode.FormatSpan(stall)),
		Hint: words.Tell("see whether the drive with the recording still answers, then run the command again; patience in settings.toml gives it more time"),
		Err:  errHung,
	}
}
