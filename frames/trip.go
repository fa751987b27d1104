package frames

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"sort"
	"strings"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/internal/ffmpeg"
	"pushcue/timeline/timecode"
)

// A trip is one seek into one part, and the stills taken on it.
type trip struct {
	recording *Recording
	part      *Part
	key       int // number among the part's key frames of where it begins; -1: the part's start
	last      int // frame it ends with
	wants     []Want
}

// trips groups wants so that nothing is decoded twice: a window that begins before
// the one before it has ended, or hardly later, goes on the same trip.
func (r *Recording) trips(wants []Want) []*trip {
	wants = slices.Clone(wants)
	slices.SortStableFunc(wants, func(a, b Want) int {
		return r.search(a).first - r.search(b).first
	})
	const worthwhile = 30 // frames decoded in the time that it takes to start another ffmpeg
	var trips []*trip
	for _, w := range wants {
		s := r.search(w)
		needed := r.needed([]*search{s})[0]
		part := r.partOf(s.exact)
		key := part.keyBefore(needed.from)
		if n := len(trips); n > 0 {
			t := trips[n-1]
			if t.part == part && part.frameOfKey(key) <= t.last+worthwhile {
				t.wants, t.last = append(t.wants, w), max(t.last, needed.to)
				continue
			}
		}
		trips = append(trips, &trip{recording: r, part: part, key: key, last: needed.to, wants: []Want{w}})
	}
	return trips
}

// keyBefore is the number of the key frame where decoding is to begin to have frame i
// whole. Where a container doesn't find key frames surely, it is the one before that.
func (p *Part) keyBefore(i int) int {
	i -= p.First
	if p.Interlaced {
		i -= 2 // taking fields apart looks at the frames around
	}
	key := sort.Search(len(p.timing.keys), func(k int) bool { return int(p.timing.keys[k]) > i }) - 1
	switch format, _, _ := strings.Cut(p.Media.Format, ","); format {
	case "mov", "matroska", "mxf", "dv":
	default:
		key--
	}
	return max(-1, key)
}

// frameOfKey is the frame of the whole that a trip from that key frame begins with.
func (p *Part) frameOfKey(key int) int {
	if key < 0 {
		return p.First
	}
	return p.First + int(p.timing.keys[key])
}

// run takes the stills. A seek that turns out to have come in too late is tried
// again from further back, and at last from the start.
func (t *trip) run(ctx context.Context, tools *ffmpeg.Tools, dir string, yield func(Still) error) error {
	keys := []int{t.key, t.key - 4, -1}
	if t.key < 0 {
		keys = keys[2:]
	}
	var err error
	for _, key := range keys {
		picker := t.recording.NewPicker(t.wants, dir)
		out := ffmpeg.OutputPipe([]*ff.Stream{t.graph(max(-1, key), picker.needed)}, rawPictures())
		_, err = tools.Do(ctx, ffmpeg.Run{Outputs: []*ff.Stream{out}, Sources: t.recording.Sources(), Stdout: func(pictures io.Reader) error {
			return picker.read(ctx, pictures, true, yield)
		}})
		if !errors.Is(err, ErrCount) {
			return err
		}
	}
	return err
}

// graph reads the part from a key frame on and lets only the needed frames through.
func (t *trip) graph(key int, needed []stretch) *ff.Stream {
	r, p := t.recording, t.part
	options := ff.KwArgs{}
	if key >= 0 {
		options = t.part.seek(r, key)
	}
	v := r.picture(p, p.input(0, options).Get(fmt.Sprint(p.Media.Video.Index)))
	if p.countsOnly() {
		v = v.Filter("trim", nil, ff.KwArgs{"end_frame": t.last - p.First + 1})
	} else {
		v = v.Filter("trim", nil, ff.KwArgs{"end_pts": r.between(t.last)})
	}
	if p.countsOnly() {
		return v.Filter("select", ff.Args{within("n", needed, func(n stretch) (from, to int64) {
			return int64(n.from - p.First), int64(n.to - p.First)
		})})
	}
	return v.Filter("select", ff.Args{within("pts", needed, func(n stretch) (from, to int64) {
		return r.between(n.from - 1), r.between(n.to)
	})})
}

// seek has ffmpeg begin at a key frame of the part.
func (p *Part) seek(r *Recording, key int) ff.KwArgs {
	// Half a frame later, so that rounding can't make it the key frame before.
	f := r.Frame(p.frameOfKey(key))
	at := since(p.ticks(f.At-p.Start), p.timing.base).Add((f.Until.Sub(f.At)) / 2)
	return ff.KwArgs{"noaccurate_seek": "", "ss": ffmpeg.Seconds(at.Sub(0) - p.Media.Start)}
}

// countsOnly tells whether the part's frames are known by their number only, so that
// they have to be counted from its start.
func (p *Part) countsOnly() bool { return p.timing.byIndex || len(p.timing.shifts) > 0 }

// between is a moment, in microseconds, between frame i and the next.
func (r *Recording) between(i int) int64 {
	if i < 0 {
		return -1
	}
	f := r.Frame(i)
	return int64((f.At + (f.Until-f.At)/2) / timecode.Video(1000))
}
