package spoken

import (
	"context"
	"fmt"
	"strconv"
	"time"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/reach"
)

// A Hold is a place in a film where the picture stands while a note is heard.
type Hold struct {
	Frames int           // of the film up to the held one, that one included
	At     time.Duration // when, in the film, the held frame would go
	Note   string        // a file that Write made
	Length time.Duration // of the note
}

// grain is what holds are rounded up to: whole samples at 48 kHz and whole ticks of
// the film's clock.
const grain = 10 * time.Millisecond

// ticks of a film's clock in a second.
const ticks = 90_000

func (h Hold) long() time.Duration { return (h.Length + grain - 1) / grain * grain }

// A Film is a video to be held still at places. Right behind each of them a key frame
// stands, so that none of its pictures has to be encoded again.
type Film struct {
	Path   string
	Frames int
	Last   time.Duration // how long its last frame is shown
	Holds  []Hold        // in the film's order
}

// Insert writes the film with its holds. Every frame stays as it is; a note longer
// than anybody thought holds its picture for all of its length.
func Insert(ctx context.Context, tools *ffmpeg.Tools, f Film, to string) error {
	film, err := tools.Probe(ctx, reach.Ours(f.Path))
	if err != nil {
		return err
	}
	layout, channels := "mono", 1
	if film.Audio != nil && film.Audio.Channels > 1 {
		layout, channels = "stereo", 2
	}
	sources := []*reach.Source{film.Source}
	notes := make([]*ff.Stream, len(f.Holds))
	for i, h := range f.Holds {
		s, err := tools.ProbeSound(ctx, reach.Ours(h.Note))
		if err != nil {
			return err
		}
		if s.Audio.Channels > 1 {
			layout, channels = "stereo", 2
		}
		sources = append(sources, s.Source)
		// One file may be heard twice; the library would take its inputs for one.
		notes[i] = s.Stream(ff.KwArgs{"thread_queue_size": strconv.Itoa(16 + i)})
	}
	input := ffmpeg.Input(f.Path)
	out := ffmpeg.Output([]*ff.Stream{input.Get("v:0"), f.sound(film, input, notes, layout)}, to, ff.KwArgs{
		"c:v": "copy", "bsf:v": f.shift(), "video_track_timescale": strconv.Itoa(ticks),
		"c:a": "aac", "profile:a": "aac_low", "b:a": strconv.Itoa(64_000 * channels), "ar": strconv.Itoa(rate),
		"f": "mp4", "movflags": "+faststart", "map_metadata": "-1", "map_chapters": "-1",
	})
	_, err = tools.Do(ctx, ffmpeg.Run{Outputs: []*ff.Stream{out}, Sources: sources})
	return err
}

// shift is the packet filter that moves what comes behind a hold. Packets are counted,
// which a key frame behind each hold allows: none from before it comes after.
func (f Film) shift() string {
	moved := make([]time.Duration, 1, len(f.Holds)+1)
	for _, h := range f.Holds {
		moved = append(moved, moved[len(moved)-1]+h.long())
	}
	// by is ffmpeg's expression for how far the packets are moved that come behind
	// hold from or a later one before to: halved at each step, so that it is worked
	// out in few however many there are.
	var by func(from, to int) string
	by = func(from, to int) string {
		if to-from == 1 {
			return strconv.FormatInt(inTicks(moved[from]), 10)
		}
		half := (from + to) / 2
		return fmt.Sprintf("if(lt(N,%d),%s,%s)", f.Holds[half-1].Frames, by(from, half), by(half, to))
	}
	last := f.Last
	for _, h := range f.Holds {
		if h.Frames >= f.Frames {
			last += h.long()
		}
	}
	move := by(0, len(moved))
	return fmt.Sprintf("setts=pts='PTS+%s':dts='DTS+%s':duration=%d", move, move, inTicks(last))
}

func inTicks(d time.Duration) int64 { return (int64(d)*9 + 50_000) / 100_000 }

// sound is the film's own sound, silence where it has none, with the notes between.
func (f Film) sound(film *ffmpeg.Media, input *ff.Stream, notes []*ff.Stream, layout string) *ff.Stream {
	form := func(s *ff.Stream) *ff.Stream {
		return s.Filter("aresample", ff.Args{strconv.Itoa(rate)}).
			Filter("aformat", nil, ff.KwArgs{"sample_fmts": "fltp", "sample_rates": rate, "channel_layouts": layout})
	}
	var base *ff.Stream
	if film.Audio != nil {
		base = form(input.Get(strconv.Itoa(film.Audio.Index)))
	} else {
		base = ff.NewNode(nil, "anullsrc", nil, "FilterableStream", 0, 0, nil,
			ff.KwArgs{"channel_layout": layout, "sample_rate": rate}, "FilterNode").Stream("", "").
			Filter("aformat", nil, ff.KwArgs{"sample_fmts": "fltp"})
	}
	base = base.Filter("apad", nil).Filter("atrim", nil, ff.KwArgs{"end_sample": samples(film.Duration)})
	next := f.between(base, samples(film.Duration))
	pieces := next(0)
	for i, h := range f.Holds {
		long := samples(h.long())
		note := form(notes[i]).Filter("apad", nil, ff.KwArgs{"whole_len": long}).Filter("atrim", nil, ff.KwArgs{"end_sample": long})
		pieces = append(append(pieces, note.Filter("asetpts", ff.Args{"N/SR/TB"})), next(i+1)...)
	}
	return ff.Filter(pieces, "concat", nil, ff.KwArgs{"n": len(pieces), "v": 0, "a": 1})
}

// between hands out the film's own sound from hold i-1 to hold i: nothing between two
// at one place.
func (f Film) between(base *ff.Stream, end int64) func(i int) []*ff.Stream {
	cuts := []int64{0}
	takers := 0
	for _, h := range f.Holds {
		cuts = append(cuts, min(max(samples(h.At), cuts[len(cuts)-1]), end))
	}
	cuts = append(cuts, end)
	for i := 1; i < len(cuts); i++ {
		if cuts[i] > cuts[i-1] {
			takers++
		}
	}
	share := func() *ff.Stream { return base }
	if takers > 1 {
		split, n := ff.NewFilterNode("asplit", []*ff.Stream{base}, 1, nil, nil), -1
		share = func() *ff.Stream { n++; return split.Get(strconv.Itoa(n)) }
	}
	return func(i int) []*ff.Stream {
		if cuts[i+1] <= cuts[i] {
			return nil
		}
		s := share().Filter("atrim", nil, ff.KwArgs{"start_sample": cuts[i], "end_sample": cuts[i+1]})
		return []*ff.Stream{s.Filter("asetpts", ff.Args{"N/SR/TB"})}
	}
}

func samples(d time.Duration) int64 { return int64(d) * rate / int64(time.Second) }
