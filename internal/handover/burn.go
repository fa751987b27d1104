package handover

import (
	"context"
	"fmt"
	"io"
	"maps"
	"slices"
	"strconv"
	"time"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/frames"
	"pushcue/internal/ffmpeg"
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
	video    *encode // nil: not wanted
	findings *encode
	picker   *frames.Picker // nil: not wanted
	still    func(frames.Still) error
	patience time.Duration
	bytes    int64 // of the recording's files
}

// An encode is one of the two videos of a burn.
type encode struct {
	tmp      string // where it is written
	layout   *overlay.Layout
	script   string // file of the captions
	chapters []byte // in ffmpeg's own metadata form; nil for none
	first    int    // frames shown, first and last included
	last     int
	plan     *overlay.Findings // nil for the captioned video
	sound    bool
}

func (b *burn) encodes() []*encode {
	return slices.DeleteFunc([]*encode{b.video, b.findings}, func(e *encode) bool { return e == nil })
}

// do runs ffmpeg and looks at what came out.
func (b *burn) do(ctx context.Context, tools *ffmpeg.Tools, progress func(timecode.Video)) error {
	run := ffmpeg.Run{
		Sources:  b.rec.Sources(),
		Files:    map[string]string{},
		Contents: map[string][]byte{"fonts/captions.ttf": overlay.FontFile()},
		Progress: func(p ffmpeg.Progress) { progress(timecode.Video(p.Time)) },
		Stall:    b.patience,
	}
	maps.Copy(run.Contents, b.rec.Voices())
	if b.picker != nil {
		run.Stdout = func(r io.Reader) error { return b.picker.Read(ctx, r, b.still) }
	}
	args, err := ffmpeg.GraphArgs(b.outputs(&run)...)
	if err != nil {
		return err
	}
	run.Args = withChapters(args, b.encodes(), run.Contents)
	if _, err := tools.Do(ctx, run); err != nil {
		return err
	}
	for _, e := range b.encodes() {
		if err := holds(ctx, tools, e.tmp, e.count()); err != nil {
			return err
		}
	}
	return nil
}

// outputs builds the graph.
func (b *burn) outputs(run *ffmpeg.Run) []*ff.Stream {
	wantSound := slices.ContainsFunc(b.encodes(), func(e *encode) bool { return e.sound })
	joined := b.rec.Joined(wantSound)
	ways := len(b.encodes())
	if b.picker != nil {
		ways++
	}
	pictures := shares("split", joined.Video, ways)
	sounds := shares("asplit", joined.Sound, len(slices.DeleteFunc(b.encodes(), func(e *encode) bool { return !e.sound })))
	var outputs []*ff.Stream
	for i, e := range b.encodes() {
		name := fmt.Sprintf("captions%d.ass", i)
		run.Files[name] = e.script
		streams := []*ff.Stream{e.pictures(pictures(), overlay.Burn{Script: name, Fonts: "fonts"})}
		if e.sound && joined.Sound != nil {
			streams = append(streams, e.heard(b.rec, sounds()))
		}
		outputs = append(outputs, ffmpeg.Output(streams, e.tmp, frames.OutputArgs(), b.settings(e), e.muxer(b.rec)))
	}
	if b.picker != nil {
		outputs = append(outputs, ffmpeg.OutputPipe([]*ff.Stream{b.picker.Graph(pictures())}, b.picker.OutputArgs()))
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
