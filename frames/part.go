package frames

import (
	"context"
	"slices"
	"sort"
	"time"

	"pushcue/internal/crew"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/reach"
	"pushcue/timeline/fault"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// sampleFrames are decoded at a part's beginning to see whether its packets tell the truth.
const sampleFrames = 60

// openPart reads one file: what it holds and when each of its frames is shown,
// counted from the first.
func openPart(ctx context.Context, tools *ffmpeg.Tools, source *reach.Source, o Options) (Part, []timecode.Video, error) {
	media, err := tools.Probe(ctx, source)
	if err != nil {
		return Part{}, nil, err
	}
	p := Part{Path: source.Path, Name: source.Name, Media: media, timing: timing{base: media.Video.TimeBase}}
	p.mapped = p.HighRange() && tools.MapsTones
	s, head, err := p.look(ctx, tools, o.Quick)
	if err != nil {
		return Part{}, nil, err
	}
	times, err := p.settle(ctx, tools, s, head, o.Decode)
	if err != nil {
		return Part{}, nil, err
	}
	if len(times) == 0 {
		if err := tools.Check(ctx); err != nil {
			return Part{}, nil, err
		}
		return Part{}, nil, fault.Of(fault.Fault{File: source.Name,
			Text: words.Tell("not one picture of this recording can be decoded"),
			Hint: words.Tell("play it in an ordinary player; copy it from the recorder again if it should play")})
	}
	p.Count = len(times)
	p.Rate = frameRate(media.Video, times)
	p.Length = times[len(times)-1].Sub(0) + p.lastFrame(s, times)
	p.timing.keys = p.keyFrames(s, times)
	if err := p.findFields(ctx, tools, s); err != nil {
		return Part{}, nil, err
	}
	p.Damage = p.damage(s, times)
	return p, times, nil
}

// look finds out what the part's packets tell and decodes its beginning, both at once:
// neither needs the other, and packets keep one processor busy. Where the file has an
// index that the decoder bears out, the packets are only read through for damage; with
// quick not even that.
func (p *Part) look(ctx context.Context, tools *ffmpeg.Tools, quick bool) (s *scan, head sample, err error) {
	s = scanIndex(p.Media)
	var read int64
	looks := []func(context.Context) error{
		func(ctx context.Context) (err error) {
			head, err = p.sample(ctx, tools, ffmpeg.Decoding{Frames: sampleFrames})
			return err
		},
	}
	if !quick && p.Media.Audio != nil {
		looks = append(looks, func(ctx context.Context) error { return p.listen(ctx, tools) })
	}
	switch {
	case s == nil:
		looks = append(looks, func(ctx context.Context) (err error) { s, err = scanPackets(ctx, tools, p.Media); return err })
	case !quick:
		looks = append(looks, func(ctx context.Context) (err error) {
			read, s.condition, err = tools.ReadThrough(ctx, p.Media, p.Media.Video.Index)
			return err
		})
	}
	err = crew.Each(ctx, len(looks), len(looks), func(ctx context.Context, i int) error { return looks[i](ctx) })
	if err != nil || !s.indexed {
		return s, head, err
	}
	p.Unread = quick
	_, agrees := agreeing(s.shown, head.times, nil)
	if agrees && !head.failed && s.repeated == 0 && (quick || read == int64(s.total) && s.condition == ffmpeg.Condition{}) {
		return s, head, nil
	}
	p.Unread = false
	s, err = scanPackets(ctx, tools, p.Media)
	return s, head, err
}

// settle finds when each frame is shown: from the packets where samples agree with
// them, else from the decoder.
func (p *Part) settle(ctx context.Context, tools *ffmpeg.Tools, s *scan, head sample, whole bool) ([]timecode.Video, error) {
	if !whole && !s.doubtful(p.Media) {
		p.health.complaints = head.said
		tail, err := p.sampleEnd(ctx, tools, s)
		if err != nil {
			return nil, err
		}
		if shown, ok := agreeing(s.shown, head.times, tail.times); ok && !head.failed && !tail.failed {
			p.Origin = shown[0]
			times := make([]timecode.Video, len(shown))
			for i, n := range shown {
				times[i] = since(n-p.Origin, p.timing.base)
			}
			return times, nil
		}
	}
	var decoded []ffmpeg.DecodedFrame
	_, result, err := tools.Decoded(ctx, p.Media, ffmpeg.Decoding{}, func(f ffmpeg.DecodedFrame) error {
		decoded = append(decoded, f)
		return nil
	})
	switch {
	case ctx.Err() != nil:
		return nil, ctx.Err()
	case ffmpeg.OfItself(err):
		return nil, err
	}
	p.health.decoded(s, decoded, result)
	if len(decoded) == 0 {
		return nil, nil
	}
	times, note := p.fromDecoder(decoded, s)
	p.health.note = note
	return times, nil
}

// A sample is what decoding a piece of a part gave.
type sample struct {
	times  []int64 // of its frames, in ticks
	said   ffmpeg.Result
	failed bool // decoding broke off: it agrees with nothing
}

func (p *Part) sample(ctx context.Context, tools *ffmpeg.Tools, d ffmpeg.Decoding) (s sample, err error) {
	_, s.said, err = tools.Decoded(ctx, p.Media, d, func(f ffmpeg.DecodedFrame) error {
		if f.HasPTS {
			s.times = append(s.times, f.PTS)
		}
		return nil
	})
	switch {
	case ctx.Err() != nil:
		return sample{failed: true}, ctx.Err()
	case ffmpeg.OfItself(err):
		return sample{failed: true}, err
	case err != nil:
		return sample{failed: true}, nil
	}
	return s, nil
}

// sampleEnd decodes the end of a file that was cut off.
func (p *Part) sampleEnd(ctx context.Context, tools *ffmpeg.Tools, s *scan) (sample, error) {
	if !p.cutOff(s) {
		return sample{}, nil
	}
	// Two key frames before the end, so that decoding surely has begun by then.
	from := s.shown[0]
	if n := len(s.keys); n > 2 {
		from = s.keys[n-3]
	}
	at := since(from, p.timing.base).Sub(0) - p.Media.Start
	return p.sample(ctx, tools, ffmpeg.Decoding{From: max(0, at)})
}

// agreeing compares the packets' times with decoded samples. The decoder may have had
// to leave out some pictures at the very beginning, where the recording was joined
// late, and at the very end, where it was cut off.
func agreeing(shown, head, tail []int64) ([]int64, bool) {
	if len(head) == 0 {
		return nil, false
	}
	first, ok := slices.BinarySearch(shown, head[0])
	if !ok || first+len(head) > len(shown) || !slices.Equal(shown[first:first+len(head)], head) {
		return nil, false
	}
	if len(head) < sampleFrames && first+len(head) < len(shown) {
		return nil, false
	}
	shown = shown[first:]
	if len(tail) == 0 {
		return shown, true
	}
	// The seek may have landed on pictures that lean on missing ones: compare the end only.
	tail = tail[len(tail)/2:]
	at, ok := slices.BinarySearch(shown, tail[0])
	if !ok || at+len(tail) > len(shown) || !slices.Equal(shown[at:at+len(tail)], tail) {
		return nil, false
	}
	return shown[:at+len(tail)], true
}

// lastFrame is how long the last frame is shown: as its packet says, else as long
// as is usual.
func (p *Part) lastFrame(s *scan, times []timecode.Video) time.Duration {
	if p.timing.byIndex {
		return p.timing.ofIndex(1).Sub(0)
	}
	usual := time.Second / 25
	if n := p.Media.Video.Nominal; n.Num > 0 {
		usual = time.Duration(scale(int64(n.Den), int64(time.Second), int64(n.Num)))
	}
	if len(times) > 1 {
		usual = medianStep(times)
	}
	last := since(s.last, p.timing.base).Sub(0)
	const most = 10 * time.Second
	halved := last < usual*3/4 && p.Media.Format != "avi" // a field's packet tells of half the frame
	if last <= 0 || halved || last > most {
		return usual
	}
	return last
}

func medianStep(times []timecode.Video) time.Duration {
	steps := make([]time.Duration, 0, min(len(times), 4096))
	for i := 1; i < len(times) && len(steps) < cap(steps); i++ {
		steps = append(steps, times[i].Sub(times[i-1]))
	}
	slices.Sort(steps)
	return steps[len(steps)/2]
}

// keyFrames finds the frames where decoding can begin.
func (p *Part) keyFrames(s *scan, times []timecode.Video) []int32 {
	if p.timing.byIndex || len(p.timing.shifts) > 0 {
		return nil
	}
	keys := make([]int32, 0, len(s.keys))
	for _, n := range s.keys {
		at := since(n-p.Origin, p.timing.base)
		if i := sort.Search(len(times), func(i int) bool { return times[i] >= at }); i < len(times) && times[i] == at {
			keys = append(keys, int32(i))
		}
	}
	return keys
}

// standardRates are those that cameras record with, as ffmpeg names them.
var standardRates = []timecode.Rate{{Num: 24000, Den: 1001}, {Num: 24, Den: 1}, {Num: 25, Den: 1}, {Num: 30000, Den: 1001}, {Num: 30, Den: 1},
	{Num: 50, Den: 1}, {Num: 60000, Den: 1001}, {Num: 60, Den: 1}, {Num: 15, Den: 1}, {Num: 10, Den: 1}, {Num: 12, Den: 1}, {Num: 20, Den: 1}, {Num: 15000, Den: 1001}}

// frameRate is the rate that a part was recorded with. The file's own word counts
// where the frames bear it out: with pictures made of two fields it says the double,
// with a varying rate it may say anything.
func frameRate(v ffmpeg.VideoStream, times []timecode.Video) timecode.Rate {
	hz := func(r timecode.Rate) float64 { return float64(r.Num) / float64(r.Den) }
	plausible := v.Nominal.Num > 0 && hz(v.Nominal) >= 1 && hz(v.Nominal) <= 240
	if len(times) < 2 {
		if plausible {
			return v.Nominal
		}
		return timecode.Rate{Num: 25, Den: 1}
	}
	mean := float64(len(times)-1) / times[len(times)-1].Seconds()
	near := func(r timecode.Rate, by float64) bool { return r.Num > 0 && hz(r) > mean*(1-by) && hz(r) < mean*(1+by) }
	if near(v.Nominal, 0.01) {
		return v.Nominal
	}
	for _, r := range standardRates {
		if near(r, 0.0004) {
			return r
		}
	}
	if plausible && hz(v.Nominal) > mean && hz(v.Nominal) <= 60 {
		return v.Nominal
	}
	return timecode.Rate{Num: int(mean*1000 + 0.5), Den: 1000}
}
