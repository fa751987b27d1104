package handover

import (
	"fmt"
	"maps"
	"strconv"
	"strings"
	"time"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/frames"
	"pushcue/internal/placing"
	"pushcue/overlay"
	"pushcue/timeline/timecode"
)

// A captioned video is at most mostTimes as large as the recording. Where a limit is set, the
// rate is held within bufferSeconds, long enough for a key frame of a quiet recording.
const (
	encodeThreads = 8 // always as many, since the bytes hang on their number
	keySeconds    = 2 // between key frames at most, so that players jump at once
	mostTimes     = 1.5
	spare         = 0.94 // of that: the rate control may miss a little
	bufferSeconds = 3
	indexBytes    = 2000 // of the container, and as many a frame:
	frameBytes    = 16
)

// args are ffmpeg's options for the setting, with an H.264 level. ultrafast leaves out CABAC and
// the deblocking filter, which cost a tenth of its time and save a fifth of the size.
func (s setting) args(level string) ff.KwArgs {
	a := ff.KwArgs{
		"preset": s.Preset, "crf": strconv.Itoa(s.CRF), "level": level, "threads:v": strconv.Itoa(encodeThreads),
		"force_key_frames": fmt.Sprintf("expr:gte(t,n_forced*%d)", keySeconds),
	}
	if s.Most > 0 {
		a["threads:v"] = "1"
	}
	if s.Preset == "ultrafast" {
		a["x264-params"] = "cabac=1:no-deblock=0"
	}
	return a
}

// settings ask for what ordinary players, phones and TVs play.
func (b *burn) settings(e *encode) ff.KwArgs {
	a := ff.KwArgs{"c:v": b.encoder, "profile:v": highProfile(b.encoder), "pix_fmt": "yuv420p"}
	rate := float64(len(b.rec.Times)) / max(b.rec.End.Seconds(), 0.001)
	if b.encoder == "libx264" {
		s := b.setting
		if e.plan != nil {
			s.Most = 0 // excerpts are short
		}
		maps.Copy(a, s.args(e.layout.Level))
		if s.Most > 0 {
			maps.Copy(a, b.ceiling(s.Most))
		}
	} else {
		// Other encoders know no constant quality by one name: bits for a tenth of a
		// pixel each frame come near it.
		a["b:v"] = strconv.Itoa(int(0.1*rate*float64(e.layout.Width*e.layout.Height)) + 100_000)
	}
	if e.plan != nil && len(e.plan.Keys) > 0 {
		a["force_key_frames"] = keyTimes(e.plan)
		a["g"] = strconv.Itoa(max(1, int(keySeconds*rate+0.5)))
	}
	if e.sound {
		maps.Copy(a, ff.KwArgs{"c:a": "aac", "profile:a": "aac_low", "b:a": strconv.Itoa(soundRate(b.rec)), "ar": "48000"})
	}
	return a
}

// highProfile is what an encoder calls H.264 High. All have a name for it but the one
// of Windows, which takes its number in the standard (ITU-T H.264, A.2.4).
func highProfile(encoder string) string {
	if encoder == "h264_mf" {
		return "100"
	}
	return "high"
}

// Encoding is what ffmpeg is told about its output for the captioned video, or for the
// excerpts of a plan, by the setting that Make chose for the job: whoever measures Make against
// bare ffmpeg asks both for the same.
func Encoding(p *placing.Placed, encoder string, l *overlay.Layout, plan *overlay.Findings) ff.KwArgs {
	b := &burn{rec: p.Recording, encoder: encoder, setting: smallest, bytes: p.Job.RecordedBytes()}
	if c, err := readChoice(p.Job); err == nil {
		b.setting = c.setting
	}
	e := &encode{layout: l, plan: plan, last: len(p.Recording.Times) - 1, sound: true}
	all := frames.OutputArgs()
	maps.Copy(all, b.settings(e))
	maps.Copy(all, e.muxer(b.rec))
	return all
}

// ceiling keeps the captioned video of a recording that has few bits from growing
// out of proportion: the noise that its own encoder left is costly to keep and not
// worth it. A quality of 30 is kept whatever the size, since the picture is evidence.
func (b *burn) ceiling(most float64) ff.KwArgs {
	long := b.rec.End.Seconds()
	bytes := most*spare*float64(b.bytes) - indexBytes - frameBytes*float64(len(b.rec.Times))
	bits := 8*bytes - float64(soundRate(b.rec))*long
	rate := int(max(bits, 0)/(long+bufferSeconds)) + 1000
	if rate > 50_000_000 { // what the level allows
		return nil
	}
	return ff.KwArgs{"maxrate": strconv.Itoa(rate), "bufsize": strconv.Itoa(rate * bufferSeconds), "crf_max": "30"}
}

// soundRate is how many bits a second the sound gets: none without sound.
func soundRate(rec *frames.Recording) int {
	channels := 0
	for _, p := range rec.Parts {
		if p.Media.Audio != nil {
			channels = max(channels, min(p.Media.Audio.Channels, 2))
		}
	}
	return 64_000 * channels
}

// keyTimes lists when key frames are forced. ffmpeg forces the first frame at or
// after each, so each is moved a little ahead of its frame: to the shortest number
// behind the frame before, since thousands of them stand on one command line.
func keyTimes(plan *overlay.Findings) string {
	texts := make([]string, len(plan.Keys))
	for i, key := range plan.Keys {
		texts[i] = "0"
		if before, ok := plan.FrameBefore(key); ok {
			texts[i] = shortest(before, key)
		}
	}
	return strings.Join(texts, ",")
}

// shortest is the number of seconds with the fewest digits that lies between two
// frames, and not so near to either that a tick of the video's clock could matter.
func shortest(before, at timecode.Video) string {
	const clear = 22_222 // two ticks of 90,000 a second
	for step, digits := timecode.Video(1_000_000_000), 0; step > 1000; step, digits = step/10, digits+1 {
		if v := (at - clear) / step * step; v >= before+clear {
			return strconv.FormatFloat(v.Seconds(), 'f', digits, 64)
		}
	}
	return seconds(before + (at-before)/2)
}

// seconds writes a time as ffmpeg reads it, to the microsecond.
func seconds(v timecode.Video) string { return strconv.FormatFloat(v.Seconds(), 'f', 6, 64) }

// muxer puts the index in front, so that a player can start before it has read all.
func (e *encode) muxer(rec *frames.Recording) ff.KwArgs {
	last := rec.Frame(e.last)
	if e.plan != nil && len(e.plan.Ranges) > 0 {
		last = rec.Frame(e.plan.Ranges[len(e.plan.Ranges)-1].Last)
	}
	return ff.KwArgs{
		"f": "mp4", "movflags": "+faststart", "video_track_timescale": "90000",
		"bsf:v":          lasting(last, e.startsSlowly(rec)) + "," + ticking(rec.Parts[0].Rate),
		"map_metadata:g": "-1", "map_metadata:s": "-1", "map_chapters": "-1",
	}
}

// lasting tells how long the last frame is shown. Packets don't say that, neither an
// encoder's nor those of a file whose frames aren't evenly apart; it only matters for
// the last one, which would last no time at all, or too long.
//
// soon has the first frames decoded shortly before the first is shown. The encoder
// puts them as far ahead as they are apart: seconds, where a recording starts with a
// gap, and players that pass over a file's edit list would show its pictures late by that.
func lasting(last frames.Frame, soon bool) string {
	ticks := (int64(last.Until-last.At)*9 + 50_000) / 100_000
	decoded := "DTS"
	if soon {
		decoded = "'if(lt(DTS,0),DTS/100,DTS)'"
	}
	return fmt.Sprintf("setts=pts=PTS:dts=%s:duration=%d", decoded, max(ticks, 1))
}

// startsSlowly tells a video whose first frames, of which the encoder holds back no
// more than four, are unusually far apart.
func (e *encode) startsSlowly(rec *frames.Recording) bool {
	first := e.first
	if e.plan != nil && len(e.plan.Ranges) > 0 {
		first = e.plan.Ranges[0].First
	}
	fourth := min(first+4, len(rec.Times)-1)
	return rec.Times[fourth].Sub(rec.Times[first]) > time.Second
}

// ticking writes the frame rate into the stream, where players look for it that
// don't ask the container. The encoder, which is told every frame's own time, would
// write 90,000 a second.
func ticking(rate timecode.Rate) string {
	return fmt.Sprintf("h264_metadata=tick_rate=%d/%d:fixed_frame_rate_flag=0", 2*rate.Num, rate.Den)
}
