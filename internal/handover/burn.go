package handover

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"maps"
	"slices"
	"strconv"
	"time"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/frames"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/progress"
	"pushcue/internal/reach"
	"pushcue/overlay"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// A burn is the one run of ffmpeg: the recording is decoded once, and split to
// the captioned video, to the excerpts, and to the stills.
type burn struct {
	rec      *frames.Recording
	encoder  string
	setting  setting // of libx264
	encodes  []*encode
	stills   []frames.Want
	take     func(context.Context, frames.Still) error
	patience time.Duration
	bytes    int64 // of the recording's files
}

// An encode is one of the two videos of a burn.
type encode struct {
	temp     string // where it is written
	layout   *overlay.Layout
	script   string // file of the captions
	chapters []byte // in ffmpeg's own metadata form; nil for none
	first    int    // frames shown, first and last included
	last     int
	plan     *overlay.Findings // nil for the captioned video
	sound    bool
}

// run makes what comes out of the recording's pictures: where videos are encoded, all of it
// in one run of ffmpeg; else the stills by seeking. Unfinished files wait in temp.
func (b *burn) run(ctx context.Context, tools *ffmpeg.Tools, temp string, p progress.Progress) error {
	if len(b.encodes) > 0 {
		return b.encode(ctx, tools, temp, p)
	}
	if len(b.stills) == 0 {
		return nil
	}
	p.Step(words.Tell("taking stills"), float64(len(b.stills)))
	taken := 0
	return frames.Fetch(ctx, tools, b.rec, b.stills, temp, func(s frames.Still) error {
		taken++
		p.Advance(float64(taken))
		return b.take(ctx, s)
	})
}

// encode runs ffmpeg, and checks that all frames came out.
func (b *burn) encode(ctx context.Context, tools *ffmpeg.Tools, temp string, p progress.Progress) error {
	p.Step(words.Tell("burning captions"), b.length().Seconds())
	run := ffmpeg.Run{
		Sources:  b.rec.Sources(),
		Files:    map[string]string{},
		Contents: map[string][]byte{"fonts/captions.ttf": overlay.FontFile()},
		Progress: func(at ffmpeg.Progress) { p.Advance(timecode.Video(at.Time).Seconds()) },
		Stall:    b.patience,
	}
	maps.Copy(run.Contents, b.rec.Voices())
	var picker *frames.Picker
	if len(b.stills) > 0 {
		picker = b.rec.NewPicker(b.stills, temp)
		run.Stdout = func(r io.Reader) error {
			return picker.Read(ctx, r, func(s frames.Still) error { return b.take(ctx, s) })
		}
	}
	args, err := ffmpeg.GraphArgs(b.outputs(&run, picker)...)
	if err != nil {
		return err
	}
	run.Args = withChapters(args, b.encodes, run.Contents)
	if _, err := tools.Do(ctx, run); err != nil {
		return err
	}
	for _, e := range b.encodes {
		if err := holds(ctx, tools, e.temp, e.count()); err != nil {
			return err
		}
	}
	return nil
}

// length is how long the run's output is: the captioned video, else the recording up to
// its last excerpt at most.
func (b *burn) length() timecode.Video {
	last := b.rec.End
	for _, e := range b.encodes {
		if e.plan == nil {
			return b.rec.Frame(e.last).Until - b.rec.Frame(e.first).At
		}
	}
	return last
}

// outputs builds the graph.
func (b *burn) outputs(run *ffmpeg.Run, picker *frames.Picker) []*ff.Stream {
	wantSound := slices.ContainsFunc(b.encodes, func(e *encode) bool { return e.sound })
	joined := b.rec.Joined(wantSound)
	ways := len(b.encodes)
	if picker != nil {
		ways++
	}
	pictures := shares("split", joined.Video, ways)
	sounds := shares("asplit", joined.Sound, len(slices.DeleteFunc(slices.Clone(b.encodes), func(e *encode) bool { return !e.sound })))
	var outputs []*ff.Stream
	for i, e := range b.encodes {
		name := fmt.Sprintf("captions%d.ass", i)
		run.Files[name] = e.script
		streams := []*ff.Stream{e.pictures(pictures(), overlay.Burn{Script: name, Fonts: "fonts"})}
		if e.sound && joined.Sound != nil {
			streams = append(streams, e.heard(b.rec, sounds()))
		}
		outputs = append(outputs, ffmpeg.Output(streams, e.temp, frames.OutputArgs(), b.settings(e), e.muxer(b.rec)))
	}
	if picker != nil {
		outputs = append(outputs, ffmpeg.OutputPipe([]*ff.Stream{picker.Graph(pictures())}, picker.OutputArgs()))
	}
	return outputs
}

// shares hands out a stream to as many takers, one a call.
func shares(filter string, s *ff.Stream, takers int) func() *ff.Stream {
	if s == nil || takers < 2 {
		return func() *ff.Stream { return s }
	}
	split := ff.NewFilterNode(filter, []*ff.Stream{s}, 1, nil, nil)
	next := -1
	return func() *ff.Stream { next++; return split.Get(strconv.Itoa(next)) }
}

// pictures are the frames shown, with captions, their times from zero.
func (e *encode) pictures(in *ff.Stream, b overlay.Burn) *ff.Stream {
	if e.plan != nil {
		return e.plan.CloseUp(e.layout.Graph(e.plan.Pick(in, 0), b))
	}
	shown := in.Filter("trim", nil, ff.KwArgs{"start_frame": strconv.Itoa(e.first), "end_frame": strconv.Itoa(e.last + 1)})
	return e.layout.Graph(shown, b).Filter("setpts", ff.Args{"PTS-STARTPTS"})
}

func (e *encode) count() int64 {
	if e.plan != nil {
		return int64(e.plan.Frames)
	}
	return int64(e.last - e.first + 1)
}

// withChapters adds the files of chapters to a command line. They hold no
// stream, so that the graph can't name them.
func withChapters(args []string, encodes []*encode, contents map[string][]byte) []string {
	at := slices.Index(args, "-filter_complex")
	if at < 0 {
		at = lastInput(args)
	}
	inputs := 0
	for _, a := range args[:at] {
		if a == "-i" {
			inputs++
		}
	}
	var added []string
	rest := slices.Clone(args[at:])
	from := 0
	for i, e := range encodes {
		option := from + slices.Index(rest[from:], "-map_chapters") + 1
		if e.chapters != nil {
			name := fmt.Sprintf("chapters%d.txt", i)
			contents[name] = e.chapters
			added = append(added, "-protocol_whitelist", "file", "-f", "ffmetadata", "-i", "file:"+name)
			rest[option] = strconv.Itoa(inputs)
			inputs++
		}
		from = option
	}
	return slices.Concat(args[:at], added, rest)
}

// lastInput is where the options of outputs begin.
func lastInput(args []string) int {
	for i := len(args) - 2; i >= 0; i-- {
		if args[i] == "-i" {
			return i + 2
		}
	}
	return 0
}

// holds looks whether a video that ffmpeg wrote is there with all its frames.
func holds(ctx context.Context, tools *ffmpeg.Tools, path string, count int64) error {
	media, err := tools.Probe(ctx, reach.Ours(path))
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if err != nil {
		return &ffmpeg.Error{Text: words.Tell("ffmpeg said that it was done, but left no video that can be read"), Hint: words.Tell("install another build of ffmpeg, 5.1 or newer"), Err: err}
	}
	if media.Video.Claimed != count {
		return words.Errorf("%s: %d came out, %d were expected", frames.ErrCount, media.Video.Claimed, count)
	}
	return nil
}

// scriptSum is the sum of a script, which is made while it is written: one of a
// long recording never stands in memory.
func scriptSum(s overlay.Script) (string, error) {
	h := sha256.New()
	if _, err := s.WriteTo(h); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

func (m *making) writeScript(name string, s overlay.Script) (string, error) {
	return m.wait(name, func(w io.Writer) error { _, err := s.WriteTo(w); return err })
}
