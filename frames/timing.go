package frames

import (
	"fmt"
	"math/big"
	"slices"
	"strings"

	"pushcue/internal/ffmpeg"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// timing is how the time of a part's frames is had from what the decoder says.
type timing struct {
	base timecode.Rate // seconds a tick

	// byIndex: the file has no times worth the name; frame n is shown at n/rate.
	byIndex bool
	rate    timecode.Rate
	// lead is how much later than n/rate the file's own clock, as players read it, shows
	// frame n of such a file: with B-frames in AVI a frame or two. Its sound goes by it.
	lead timecode.Video

	// shifts are to be added, in ticks, from a frame on: where the file's clock
	// started anew.
	shifts []shift

	keys []int32 // frames, counted in the part, where decoding can begin; empty when unknown
}

type shift struct {
	from int // frame, counted in the part
	by   int64
}

// since is the time of n ticks.
func since(n int64, base timecode.Rate) timecode.Video {
	return timecode.Video(scale(n, int64(base.Num)*1e9, int64(base.Den)))
}

// scale is n*num/den to the nearest, whatever their size.
func scale(n, num, den int64) int64 {
	p := n * num
	if n == 0 || (p/n == num && p < 1<<61 && p > -1<<61) {
		return divide(p, den)
	}
	b := new(big.Int).Mul(big.NewInt(n), big.NewInt(num))
	d := big.NewInt(den)
	b.Mul(b, big.NewInt(2)).Add(b, d)
	return b.Div(b, d.Mul(d, big.NewInt(2))).Int64()
}

func divide(n, by int64) int64 {
	if n < 0 {
		return -((-n + by/2) / by)
	}
	return (n + by/2) / by
}

// ofIndex is when frame n of a part that goes by its frames' number is shown.
func (t timing) ofIndex(n int) timecode.Video {
	return timecode.Video(scale(int64(n), int64(t.rate.Den)*1e9, int64(t.rate.Num)))
}

// ticks is the presentation time, on the file's own clock, of the frame shown at v
// after the part's start.
func (p *Part) ticks(v timecode.Video) int64 {
	return p.Origin + scale(int64(v), int64(p.timing.base.Den), int64(p.timing.base.Num)*1e9)
}

// expression gives setpts the time since the part's first frame, in ticks.
func (p *Part) expression() string {
	text := fmt.Sprintf("PTS-(%d)", p.Origin)
	for _, s := range p.timing.shifts {
		text += fmt.Sprintf("+gte(N,%d)*(%d)", s.from, s.by)
	}
	return text
}

// fromDecoder settles the times of a part from what the decoder gave: as they are
// where they ascend; shifted where the clock starts anew; by number where they are
// worthless. It says what it had to do.
func (p *Part) fromDecoder(frames []ffmpeg.DecodedFrame, s *scan) (times []timecode.Video, note words.Sentence) {
	rate := p.Media.Video.Nominal
	if rate.Num == 0 {
		rate = p.Media.Video.Mean
	}
	countable := p.Media.Format == "avi" && rate.Num > 0
	if countable && s.steady && len(frames) == s.total {
		return p.byIndex(frames, rate), words.Sentence{} // AVI counts frames; it stores no times
	}
	pts, steps := make([]int64, len(frames)), []int64{}
	usual := p.usualStep(frames)
	var shifts []shift
	var offset int64
	disorder := 0
	for i, f := range frames {
		pts[i] = f.PTS + offset
		if i == 0 {
			continue
		}
		step := pts[i] - pts[i-1]
		limit := scale(jumpSeconds, int64(p.timing.base.Den), int64(p.timing.base.Num))
		switch {
		case !f.HasPTS:
			disorder++
		case clockMayJump(p.Media) && (step > limit || step < -usual):
			offset += usual - step
			pts[i] = f.PTS + offset
			shifts = append(shifts, shift{i, usual - step})
		case step <= 0:
			disorder++
		}
		steps = append(steps, step)
	}
	if disorder > 0 || len(frames) > 0 && !frames[0].HasPTS {
		if rate.Num == 0 || float64(rate.Num)/float64(rate.Den) > 240 {
			rate = timecode.Rate{Num: 25, Den: 1}
		}
		return p.byIndex(frames, rate), words.Tell("the times of its pictures are in disorder, so they were taken as %s a second", decimal(rate))
	}
	p.Origin, p.timing.shifts = pts[0], shifts
	times = make([]timecode.Video, len(pts))
	for i, n := range pts {
		times[i] = since(n-p.Origin, p.timing.base)
	}
	if len(shifts) > 0 {
		note = words.Tell("its clock starts anew %d times, first at %s; the pictures are joined there as if nothing lay between", len(shifts), times[shifts[0].from])
	}
	return times, note
}

// byIndex counts frames at the rate. Single times that are wrong don't move the sound.
func (p *Part) byIndex(frames []ffmpeg.DecodedFrame, rate timecode.Rate) []timecode.Video {
	p.timing.byIndex, p.timing.rate, p.Origin = true, rate, 0
	times := make([]timecode.Video, len(frames))
	var leads []timecode.Video
	for i, f := range frames {
		times[i] = p.timing.ofIndex(i)
		if f.HasPTS {
			leads = append(leads, since(f.PTS, p.timing.base)-times[i])
		}
	}
	p.timing.lead = timecode.Video(p.Media.Video.Start)
	if len(leads) > 0 {
		slices.Sort(leads)
		p.timing.lead = leads[len(leads)/2]
	}
	return times
}

// usualStep is the median time between frames, in ticks.
func (p *Part) usualStep(frames []ffmpeg.DecodedFrame) int64 {
	steps := make([]int64, 0, len(frames))
	for i := 1; i < len(frames); i++ {
		if step := frames[i].PTS - frames[i-1].PTS; step > 0 {
			steps = append(steps, step)
		}
	}
	if len(steps) == 0 {
		if r := p.Media.Video.Nominal; r.Num > 0 {
			return max(1, scale(int64(r.Den), int64(p.timing.base.Den), int64(p.timing.base.Num)*int64(r.Num)))
		}
		return max(1, int64(p.timing.base.Den)/int64(p.timing.base.Num)/25)
	}
	slices.Sort(steps)
	return steps[len(steps)/2]
}

func decimal(r timecode.Rate) string {
	text := fmt.Sprintf("%.2f", float64(r.Num)/float64(r.Den))
	return strings.TrimSuffix(strings.TrimRight(text, "0"), ".")
}
