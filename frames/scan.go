package frames

import (
	"context"
	"slices"

	"pushcue/frames/movindex"
	"pushcue/internal/ffmpeg"
)

// A scan is what the packets of a part tell, without decoding.
type scan struct {
	shown     []int64 // presentation times of the packets to be shown, ascending, in ticks
	keys      []int64 // those of key packets
	total     int     // packets, those never shown included
	missing   int     // packets to be shown without a time
	repeated  int     // times that stand twice
	jumps     int     // places where the file's clock starts anew
	steady    bool    // decoding times go on by one and the same step
	firstKey  bool
	last      int64 // duration of the packet shown last; 0 when not given
	condition ffmpeg.Condition
	indexed   bool // it comes from the file's own index
}

// A jump of the clock by more seconds is no gap in the filming but a clock that was
// set anew, in containers whose clock may be.
const jumpSeconds = 10

func scanPackets(ctx context.Context, tools *ffmpeg.Tools, m *ffmpeg.Media) (*scan, error) {
	s := &scan{steady: true}
	base := m.Video.TimeBase
	threshold := int64(jumpSeconds * float64(base.Den) / float64(base.Num))
	var lastPTS, lastDTS, step int64
	lastPTS = -1 << 62
	condition, err := tools.Packets(ctx, m, m.Video.Index, func(p ffmpeg.Packet) error {
		if s.total == 0 {
			s.firstKey = p.Key
		} else {
			forward := p.DTS - lastDTS
			switch {
			case !p.HasDTS:
				s.steady = false
			case s.total == 1:
				step = forward
			case forward != step:
				s.steady = false
			}
			if p.HasDTS && (forward < -threshold/10 || forward > threshold) && clockMayJump(m) {
				s.jumps++
			}
		}
		s.total++
		if p.HasDTS {
			lastDTS = p.DTS
		}
		switch {
		case p.Discard:
		case !p.HasPTS:
			s.missing++
		default:
			s.shown = append(s.shown, p.PTS)
			if p.Key {
				s.keys = append(s.keys, p.PTS)
			}
			if p.PTS > lastPTS {
				lastPTS, s.last = p.PTS, p.Duration
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	s.condition = condition
	s.inOrder()
	return s, nil
}

// scanIndex takes the same from the file's own index, where it has one that tells: the
// file isn't read through. nil where it doesn't tell.
func scanIndex(m *ffmpeg.Media) *scan {
	f, err := m.Source.Open()
	if err != nil {
		return nil
	}
	defer f.Close()
	x, ok := movindex.Read(f, m.Size)
	if base := m.Video.TimeBase; !ok || base.Num != 1 || int64(base.Den) != x.Ticks {
		return nil
	}
	s := &scan{indexed: true, shown: x.Shown, total: len(x.Shown), firstKey: x.Keys[0] == 0, last: x.Last}
	for _, i := range x.Keys {
		s.keys = append(s.keys, x.Shown[i])
	}
	s.inOrder()
	return s
}

// inOrder sorts what was found in the order of decoding.
func (s *scan) inOrder() {
	slices.Sort(s.shown)
	slices.Sort(s.keys)
	s.shown = slices.Clip(s.shown)
	for i := 1; i < len(s.shown); i++ {
		if s.shown[i] == s.shown[i-1] {
			s.repeated++
		}
	}
}

// clockMayJump tells whether the container's clock may start anew in the middle.
func clockMayJump(m *ffmpeg.Media) bool { return m.Format == "mpegts" || m.Format == "mpeg" }

// doubtful tells whether only the decoder knows which frames there are.
func (s *scan) doubtful(m *ffmpeg.Media) bool {
	// VP8 has packets that are never shown, and nothing in them that says so.
	return s.missing > 0 || s.repeated > 0 || s.jumps > 0 || s.condition.Broken+s.condition.Odd > 0 || m.Video.Codec == "vp8" || len(s.shown) == 0
}
