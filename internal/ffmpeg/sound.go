package ffmpeg

import (
	"context"
	"encoding/json"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/internal/reach"
	"pushcue/timeline/words"
)

// soundFormats are the containers that sound alone is read from: those of phones,
// dictating machines and messengers.
const soundFormats = "wav,w64,mov,mp4,m4a,3gp,3g2,mj2,mp3,ogg,flac,aac,amr,asf,aiff,caf,au,matroska,webm"

// A Sound is a file with something to be heard in it, whatever else it holds.
type Sound struct {
	Source   *reach.Source
	Size     int64  // bytes
	Format   string // ffmpeg's name of the container
	Duration time.Duration
	Audio    AudioStream
	Created  time.Time // in the file, as UTC; zero when absent
	Tags     map[string]string

	Voice []byte // as Media.Voice
}

// voiceName is an unpacked sound in the folder of a run.
const voiceName = "voice.amr"

// input is its name and its stream's number in a run that hears it.
func (s *Sound) input() (path string, index int) {
	if s.Voice != nil {
		return voiceName, 0
	}
	return s.Source.Path, s.Audio.Index
}

// HeardBy is a run that hears the sound, by Stream, beside what else it reads.
func (s *Sound) HeardBy(r Run) Run {
	if s.Voice != nil {
		r.Contents = map[string][]byte{voiceName: s.Voice}
	} else {
		r.Sources = append(slices.Clone(r.Sources), s.Source)
	}
	return r
}

// Claims reports whether the container knows how long its sound is: others only guess by
// their size.
func (s *Sound) Claims() bool {
	kind, _, _ := strings.Cut(s.Format, ",")
	return slices.Contains([]string{"mov", "wav", "w64", "flac", "aiff", "caf"}, kind)
}

// ProbeSound asks what a sound file holds.
// Duration is what the file claims, which many files only guess; see Loudness. One
// that can't be used is a fault.List.
func (t *Tools) ProbeSound(ctx context.Context, source *reach.Source) (*Sound, error) {
	name := source.Name
	head, size, err := look(source, words.Tell("this sound file"))
	if err != nil {
		return nil, err
	}
	again := words.Tell("copy it from the phone or the recorder again; if it doesn't play there either, nothing was stored")
	if isText(head) {
		return nil, refuse(name, words.Tell("this is a text, not a sound file; a list that names other files is never followed"), words.Tell("put the sound files themselves into the job folder"))
	}
	answer, said, err := t.ask(ctx, source, soundFormats)
	if err := stopped(ctx, err); err != nil {
		return nil, err
	}
	switch {
	case err != nil && strings.Contains(said, "not on whitelist"):
		return nil, refuse(name, words.Tell("this kind of sound file isn't read"), words.Tell("save it as WAV, M4A, MP3, OGG, Opus, FLAC, AAC, AMR, 3GP, WMA or AIFF"))
	case err != nil:
		if !tellsOfFile(said) {
			if err := t.Check(ctx); err != nil {
				return nil, err
			}
		}
		return nil, refuse(name, words.Tell("this sound file can't be read, or its beginning is damaged"), again)
	}
	s, err := parseSound(answer)
	if err != nil {
		if err := t.Check(ctx); err != nil {
			return nil, err
		}
		return nil, refuse(name, words.Of(err), again)
	}
	s.Source, s.Size = source, size
	s.Voice, err = t.unpacked(ctx, source, s.Audio, s.Format)
	if err := stopped(ctx, err); err != nil {
		return nil, err
	}
	return s, nil
}

// parseSound reads ffprobe's JSON. Its errors are sentences about the file.
func parseSound(b []byte) (*Sound, error) {
	var a probeAnswer
	if err := json.Unmarshal(b, &a); err != nil {
		return nil, words.Errorf("what this file says of itself can't be read")
	}
	_, heard := pick(a.Streams)
	if heard == nil {
		return nil, words.Errorf("there is no sound in this file")
	}
	s := &Sound{Format: a.Format.Name, Duration: max(0, seconds(a.Format.Duration)), Audio: heard.audio(), Tags: map[string]string{}}
	for _, tags := range []map[string]string{heard.Tags, a.Format.Tags} {
		for key, value := range tags {
			s.Tags[strings.ToLower(key)] = value
		}
	}
	s.Created = created(s.Tags["creation_time"])
	return s, nil
}

func (s *probeStream) audio() AudioStream {
	rate, _ := strconv.Atoi(s.SampleRate)
	return AudioStream{Index: s.Index, Codec: s.Codec, SampleRate: rate, Channels: s.Channels, Start: seconds(s.Start),
		TimeBase: ratio(s.TimeBase, "/"), Duration: max(0, seconds(s.Duration))}
}

// Stream reads what is to be heard. options are as for Input.
func (s *Sound) Stream(options ...ff.KwArgs) *ff.Stream {
	args := ff.KwArgs{"protocol_whitelist": protocols, "format_whitelist": soundFormats}
	if strings.HasPrefix(s.Audio.Codec, "wma") {
		// ffmpeg takes two blocks for lead-in where some recorders write one, and would
		// leave out a tenth of a second that was spoken.
		args["flags2"] = "+skip_manual"
	}
	for _, o := range options {
		maps.Copy(args, o)
	}
	path, index := s.input()
	return ff.Input("file:"+path, args).Get(strconv.Itoa(index))
}

// Picture shows one JPEG so many times a second, for so long; name is that of a file
// in Run.Files, so that nothing in it is taken for a pattern.
func Picture(name string, rate int, long time.Duration) *ff.Stream {
	return ff.Input("file:"+name, ff.KwArgs{
		"protocol_whitelist": protocols, "format_whitelist": "image2", "f": "image2", "pattern_type": "none",
		"loop": "1", "framerate": strconv.Itoa(rate), "t": Seconds(long),
	}).Video()
}

// PictureArgs is the command line that turns a photo of a phone's own kind (HEIF, AVIF,
// WebP) into a PNG on standard output, upright.
func PictureArgs(path string) []string {
	return []string{"-protocol_whitelist", protocols, "-format_whitelist", "mov,mp4,m4a,3gp,3g2,mj2,avif,webp_pipe", "-i", "file:" + path,
		"-map", "0:v:0", "-frames:v", "1", "-c:v", "png", "-f", "image2pipe", "pipe:1"}
}
