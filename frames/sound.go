package frames

import (
	"context"
	"fmt"
	"strconv"
	"time"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/internal/ffmpeg"
	"pushcue/timeline/timecode"
)

// soundRate is the rate of the joined sound, in samples a second.
const soundRate = 48000

// sound joins the parts' sound: each exactly as long as the part's pictures, silence
// for a part that has none. nil when no part has any.
func (r *Recording) sound(inputs []*ff.Stream) *ff.Stream {
	layout, any := "mono", false
	for _, p := range r.Parts {
		any = any || p.Media.Audio != nil
		if p.Media.Audio != nil && p.Media.Audio.Channels > 1 {
			layout = "stereo"
		}
	}
	if !any {
		return nil
	}
	pieces := make([]*ff.Stream, len(r.Parts))
	for k := range r.Parts {
		p := &r.Parts[k]
		samples := sampleAt(p.Start.Add(p.Length)) - sampleAt(p.Start)
		if p.Media.Audio == nil {
			pieces[k] = silence(k, layout, samples)
			continue
		}
		pieces[k] = p.tone(p.recorded(inputs[k], k), layout, samples)
	}
	if len(pieces) == 1 {
		return pieces[0]
	}
	return ff.Filter(pieces, "concat", nil, ff.KwArgs{"n": len(pieces), "v": 0, "a": 1})
}

// recorded is a part's sound as it was recorded, with the file's own times.
func (p *Part) recorded(input *ff.Stream, k int) *ff.Stream {
	if p.Media.Voice == nil {
		return input.Get(strconv.Itoa(p.Media.Audio.Index))
	}
	return ffmpeg.Voice(voiceName(k)).Filter("asetpts", ff.Args{fmt.Sprintf("PTS+(%d/1000000)/TB", p.Media.Audio.Start.Microseconds())})
}

func voiceName(k int) string { return fmt.Sprintf("sound%d.amr", k) }

// Voices are what a run that hears Joined.Sound needs among its Contents.
func (r *Recording) Voices() map[string][]byte {
	all := map[string][]byte{}
	for k, p := range r.Parts {
		if p.Media != nil && p.Media.Voice != nil {
			all[voiceName(k)] = p.Media.Voice
		}
	}
	return all
}

// SoundMended names what is done to the parts' sound that most recordings don't need;
// "" where nothing is.
func (r *Recording) SoundMended() (how string) {
	for k, p := range r.Parts {
		if p.Media == nil || p.Media.Audio == nil {
			continue
		}
		if p.Media.Voice != nil {
			how += fmt.Sprintf("unpacked %d ", k)
		}
		if lead := p.timing.lead - timecode.Video(p.Media.Video.Start); p.timing.byIndex && lead != 0 {
			how += fmt.Sprintf("moved %d by %s ", k, lead.Sub(0))
		}
	}
	return how
}

// listen decodes the part's sound where the file says how long it is. Where less or more
// comes out, its packets are asked too: there may be gaps between them.
func (p *Part) listen(ctx context.Context, tools *ffmpeg.Tools) error {
	claimed := p.Media.Audio.Duration
	if claimed == 0 {
		return nil
	}
	decoded, err := tools.SoundLength(ctx, p.Media)
	if err != nil || !ffmpeg.Misses(claimed, decoded) {
		return err
	}
	packets, err := tools.PacketsLength(ctx, p.Media)
	if ctx.Err() == nil && !ffmpeg.OfItself(err) && ffmpeg.Misses(packets, decoded) {
		p.Sound = &Heard{Decoded: decoded, Claimed: claimed}
		return nil
	}
	return err
}

// sampleAt is the sample that sounds at v.
func sampleAt(v timecode.Video) int64 { return scale(int64(v), soundRate, int64(time.Second)) }

// tone is a part's sound, beginning and ending with its pictures. Gaps in it are
// filled with silence; where the file's clock starts anew its times mean nothing.
func (p *Part) tone(a *ff.Stream, layout string, samples int64) *ff.Stream {
	const much = 2 * time.Second // more silence than the resampler should hold at once
	origin := since(p.Origin, p.timing.base).Sub(0)
	if p.timing.byIndex {
		origin = p.timing.lead.Sub(0)
	}
	late := p.Media.Audio.Start - origin
	switch {
	case len(p.timing.shifts) > 0:
		a = a.Filter("asetpts", ff.Args{"N/SR/TB"})
	case late > much:
		a = a.Filter("asetpts", ff.Args{"PTS-STARTPTS"})
	default:
		a = a.Filter("asetpts", ff.Args{fmt.Sprintf("PTS-(%d/1000000)/TB", origin.Microseconds())})
	}
	a = a.Filter("aresample", ff.Args{strconv.Itoa(soundRate)}, ff.KwArgs{"async": 1, "first_pts": 0})
	a = a.Filter("aformat", nil, ff.KwArgs{"sample_fmts": "fltp", "sample_rates": soundRate, "channel_layouts": layout})
	if late > much && len(p.timing.shifts) == 0 {
		a = a.Filter("adelay", nil, ff.KwArgs{"delays": fmt.Sprintf("%dS", sampleAt(timecode.Video(late))), "all": 1})
	}
	a = a.Filter("apad", nil, ff.KwArgs{"whole_len": samples})
	a = a.Filter("atrim", nil, ff.KwArgs{"end_sample": samples})
	return a.Filter("asetpts", ff.Args{"N/SR/TB"})
}

// silence is a source of its own; number k tells it from the others, since the
// library knows its nodes by their options.
func silence(k int, layout string, samples int64) *ff.Stream {
	source := ff.NewNode(nil, "anullsrc", nil, "FilterableStream", 0, 0, nil,
		ff.KwArgs{"channel_layout": layout, "sample_rate": soundRate, "nb_samples": 1024 + k}, "FilterNode").Stream("", "")
	s := source.Filter("atrim", nil, ff.KwArgs{"end_sample": samples})
	return s.Filter("aformat", nil, ff.KwArgs{"sample_fmts": "fltp"})
}
