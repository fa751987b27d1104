// Package spoken makes spoken notes fit to hand over: evened out in loudness, whole
// from the first sound to the last, in a form that every browser and player knows;
// and shows a still for as long as its note lasts.
//
//	note, err := spoken.Listen(ctx, tools, sound)
//	err = note.Write(ctx, tools, "03_roots.m4a")
//	err = spoken.Narrate(ctx, tools, spoken.Still{File: "03_roots.jpg", Width: 1280, Height: 768}, "03_roots.m4a", note.Length, "03_roots.mp4")
//	err = spoken.Insert(ctx, tools, film, notes, "findings.mp4")
//
// Loudness goes by EBU R 128, which measures as ITU-R BS.1770 says: one gain for the
// whole note, so that it stays as it was spoken; peaks alone are held down where that
// gain would let them clip. It doesn't promise that a note can be understood.
package spoken

import (
	"context"
	"fmt"
	"math"
	"strconv"
	"time"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/reach"
	"pushcue/timeline/words"
)

// What EBU R 128 asks for, and how far a note is raised to get there: beyond that it is
// mostly noise that is raised.
const (
	target   = -23.0 // LUFS, of the whole
	near     = 0.3   // LU from it that need no second try; R 128 allows 0.5
	ceiling  = -2.0  // dBTP: R 128 allows -1, and encoding may add a little
	mostGain = 30.0  // dB
)

// rate is that of the sound handed over, in samples a second.
const rate = 48000

// A Note is a spoken note that has been listened to.
type Note struct {
	Sound    *ffmpeg.Sound
	Length   time.Duration  // from the first sample to the last
	Damage   words.Sentence // what is wrong with it; empty when nothing is
	loudness ffmpeg.Loudness
}

// Listen hears a note from beginning to end. One that gives no sound at all is an error
// that says so; one that gives less than it claims has Damage.
func Listen(ctx context.Context, tools *ffmpeg.Tools, s *ffmpeg.Sound) (*Note, error) {
	loudness, result, err := tools.Loudness(ctx, s)
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	if ffmpeg.OfItself(err) {
		return nil, err
	}
	if loudness.Duration <= 0 {
		if err == nil {
			err = words.Errorf("nothing in it can be heard")
		}
		return nil, err
	}
	n := &Note{Sound: s, Length: loudness.Duration, loudness: loudness}
	short := s.Duration - n.Length
	switch {
	case s.Claims() && short > 0 && ffmpeg.Misses(s.Duration, n.Length), short > time.Second && short > s.Duration/50:
		n.Damage = words.Tell("it breaks off: %s of %s could be heard", rounded(n.Length), rounded(s.Duration))
	case err != nil || result.Complaints > 0:
		n.Damage = words.Tell("it is damaged in places: something of it may be missing")
	}
	return n, nil
}

func rounded(d time.Duration) string { return d.Round(time.Second / 10).String() }

// gain is what brings the note to the target, in dB.
func (n *Note) gain() float64 {
	if n.loudness.Silent() {
		return 0
	}
	return min(target-n.loudness.Integrated, mostGain)
}

// Write writes the note as AAC in an .m4a, from its first sample to its last.
func (n *Note) Write(ctx context.Context, tools *ffmpeg.Tools, to string) error {
	gain := n.gain()
	for try := 1; ; try++ {
		held := n.loudness.TruePeak+gain > ceiling
		if err := n.encode(ctx, tools, gain, held, to); err != nil {
			return err
		}
		s, err := lasting(ctx, tools, to, n.Length)
		if err != nil || !held || try == 3 {
			return err
		}
		// Holding the peaks down makes the whole softer, by how much only the meter tells.
		now, _, err := tools.Loudness(ctx, s)
		if err != nil || now.Silent() || math.Abs(target-now.Integrated) < near {
			return err
		}
		gain = min(gain+target-now.Integrated, mostGain)
	}
}

// encode writes the note with a gain in dB; held says that peaks are to be held down.
func (n *Note) encode(ctx context.Context, tools *ffmpeg.Tools, gain float64, held bool, to string) error {
	layout, channels := "mono", 1
	if n.Sound.Audio.Channels > 1 {
		layout, channels = "stereo", 2
	}
	heard := n.Sound.Stream().Filter("asetpts", ff.Args{"N/SR/TB"}).
		Filter("aresample", ff.Args{strconv.Itoa(rate)}).
		Filter("aformat", nil, ff.KwArgs{"sample_fmts": "fltp", "sample_rates": rate, "channel_layouts": layout}).
		Filter("volume", nil, ff.KwArgs{"volume": fmt.Sprintf("%.3fdB", gain), "precision": "float"})
	if held {
		// Peaks between samples are only seen at a higher rate (ITU-R BS.1770 annex 2).
		heard = heard.Filter("aresample", ff.Args{strconv.Itoa(4 * rate)}).
			Filter("alimiter", nil, ff.KwArgs{"limit": fmt.Sprintf("%.5f", math.Pow(10, ceiling/20)), "level": "0", "latency": "1", "release": "80"}).
			Filter("aresample", ff.Args{strconv.Itoa(rate)}, ff.KwArgs{"async": "0"})
	}
	out := ffmpeg.Output([]*ff.Stream{heard}, to, ff.KwArgs{
		"c:a": "aac", "profile:a": "aac_low", "b:a": strconv.Itoa(80_000 * channels), "ar": strconv.Itoa(rate),
		"f": "ipod", "movflags": "+faststart", "map_metadata": "-1", "map_chapters": "-1", "fflags": "+bitexact", "flags:a": "+bitexact",
	})
	_, err := tools.Do(ctx, n.Sound.HeardBy(ffmpeg.Run{Outputs: []*ff.Stream{out}}))
	if !n.Damage.Empty() && ctx.Err() == nil && !ffmpeg.OfItself(err) {
		return nil // what it gave is judged by how long it is
	}
	return err
}

// lasting looks whether a file that ffmpeg wrote can be heard for as long as it should.
func lasting(ctx context.Context, tools *ffmpeg.Tools, path string, long time.Duration) (*ffmpeg.Sound, error) {
	const packet = 1024 * time.Second / rate // of AAC
	s, err := tools.ProbeSound(ctx, reach.Ours(path))
	switch {
	case ctx.Err() != nil:
		return nil, ctx.Err()
	case err != nil:
		return nil, &ffmpeg.Error{Text: words.Tell("ffmpeg left no sound that can be read"), Hint: words.Tell("install another build of ffmpeg, 5.1 or newer"), Err: err}
	case s.Duration < long-packet:
		return nil, &ffmpeg.Error{Text: words.Tell("ffmpeg cut a spoken note short: %s of %s came out", s.Duration, long), Hint: words.Tell("install another build of ffmpeg, 5.1 or newer")}
	}
	return s, nil
}
