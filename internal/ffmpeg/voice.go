package ffmpeg

import (
	"context"
	"io"
	"strconv"
	"strings"
	"time"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/internal/reach"
	"pushcue/timeline/timecode"
)

// mostVoice bounds a sound that is unpacked in memory: AMR takes 11 MB in an hour at most.
const mostVoice = 1 << 30

// packsFrames reports a sound of which one packet may hold several frames, as phones write
// AMR into 3GP (3GPP TS 26.244, AMRSampleEntry: frames_per_sample). ffmpeg decodes the
// first frame of each packet and drops the others.
func packsFrames(codec, format string) bool {
	return (codec == "amr_nb" || codec == "amr_wb") && strings.HasPrefix(format, "mov,")
}

// unpacked copies such a sound into AMR's own form, a header and the bare frames (RFC 4867,
// section 5), where every frame is found. nil for a sound of another kind.
func (t *Tools) unpacked(ctx context.Context, source *reach.Source, a AudioStream, format string) (voice []byte, err error) {
	if !packsFrames(a.Codec, format) {
		return nil, nil
	}
	args := []string{"-protocol_whitelist", protocols, "-format_whitelist", soundFormats, "-i", "file:" + source.Path,
		"-map", "0:" + strconv.Itoa(a.Index), "-c", "copy", "-f", "amr", "pipe:1"}
	_, err = t.Do(ctx, Run{Args: args, Sources: []*reach.Source{source}, Stdout: func(r io.Reader) (err error) {
		voice, err = io.ReadAll(io.LimitReader(r, mostVoice))
		return err
	}})
	return voice, err
}

// Voice reads an unpacked sound that a run has among its Contents under name.
func Voice(name string) *ff.Stream {
	return ff.Input("file:"+name, ff.KwArgs{"protocol_whitelist": protocols, "format_whitelist": "amr"}).Get("0")
}

// SoundLength decodes a recording's sound and returns how long it is, without any gaps
// between its packets; 0 where nothing can be decoded.
func (t *Tools) SoundLength(ctx context.Context, m *Media) (long time.Duration, err error) {
	r := Run{Progress: func(p Progress) { long = p.Time }}
	path, index := m.Source.Path, m.Audio.Index
	if m.Voice != nil {
		path, index, r.Contents = "voice.amr", 0, map[string][]byte{"voice.amr": m.Voice}
	} else {
		r.Sources = []*reach.Source{m.Source}
	}
	r.Args = []string{"-protocol_whitelist", protocols, "-format_whitelist", formats + ",amr", "-i", "file:" + path,
		"-map", "0:" + strconv.Itoa(index), "-af", Unbroken, "-f", "null", "-"}
	_, err = t.Do(ctx, r)
	if ctx.Err() != nil || OfItself(err) {
		return 0, err
	}
	return long, nil // what it complained of shows in the length
}

// PacketsLength is how long the packets of a recording's sound say that they are, together.
func (t *Tools) PacketsLength(ctx context.Context, m *Media) (time.Duration, error) {
	var ticks int64
	_, err := t.Packets(ctx, m, m.Audio.Index, func(p Packet) error {
		ticks += p.Duration
		return nil
	})
	return ofTicks(ticks, m.Audio.TimeBase), err
}

func ofTicks(n int64, base timecode.Rate) time.Duration {
	if base.Den == 0 {
		return 0
	}
	return time.Duration(float64(n) * float64(base.Num) / float64(base.Den) * float64(time.Second))
}

// Misses reports whether a sound that was decoded is shorter or longer than was claimed: by
// more than 0.2 s, or by 1 % where that is more than what codecs add and leave out at both
// ends, which is two frames of AAC at 22 kHz.
func Misses(claimed, decoded time.Duration) bool {
	const most, ends = 200 * time.Millisecond, 100 * time.Millisecond
	off := (claimed - decoded).Abs()
	return off > most || off > ends && off > claimed/100
}
