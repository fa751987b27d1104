// Package onscreen takes what the recorder wrote into its pictures out of a
// recording: it feeds frames/counter with pictures.
//
//	found, err := onscreen.Read(ctx, tools, rec, onscreen.Options{Dir: tmp})
//	if found.Counter != nil {
//		fmt.Println(found.Counter.Box, len(found.Counter.Samples))
//	}
//
// The recording is decoded once, beside a look at its key frames; whole pictures
// are never kept. Parts of one picture size are read together, those of another by
// themselves (see Alike), since nothing stands at the same place there.
package onscreen

import (
	"context"
	"errors"
	"fmt"
	"image"
	"io"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/frames"
	"pushcue/frames/counter"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/safefile"
	"pushcue/timeline/timecode"
)

// Version changes when the same recording may give other readings, beside
// counter.Version.
const Version = 2

// Options of Read.
type Options struct {
	counter.Options
	Parts []int           // which to read, all of one picture size; nil: those as large as the first
	Box   image.Rectangle // where the counter is, in pixels as stored and upright; empty: look for it
	Only  []Stretch       // what of them to read, in order; nil: all
	Dir   string          // where pictures wait while they are read
	// Progress is told how far reading has come, 0 to 1; may be nil.
	Progress func(float64)
}

// A Stretch is Count looks in a row at a part, from look From on.
type Stretch struct{ Part, From, Count int }

// ErrSeek says that a stretch can't be decoded by itself.
var ErrSeek = errors.New("a stretch of the recording can't be decoded by itself")

// Found is what is written on the recording.
type Found struct {
	Size    image.Point // of the pictures as stored, upright
	Parts   []int
	Counter *counter.Line
	Lines   []*counter.Line
}

// Alike are the parts of a recording whose pictures are as large as each other's, in
// the order in which the sizes first come.
func Alike(rec *frames.Recording) (groups [][]int) {
	number := map[image.Point]int{}
	for k := range rec.Parts {
		size := rec.Parts[k].StoredSize()
		n, known := number[size]
		if !known {
			n = len(groups)
			number[size] = n
			groups = append(groups, nil)
		}
		groups[n] = append(groups[n], k)
	}
	return groups
}

// samplesPerSecond is how often the counter is looked at: a cable moves at most
// some decimetres between two looks.
const samplesPerSecond = 5

// step is how many frames of a part lie between two looks.
func step(rec *frames.Recording, part int) int {
	return max(1, int(rec.Parts[part].Rate.Float()/samplesPerSecond+0.5))
}

// Looks is when Read looks at the parts, in order: what a line that it reads has samples of.
func Looks(rec *frames.Recording, parts []int) (all []Look) {
	for _, k := range parts {
		for n := 0; ; n++ {
			at, ok := rec.SampledAt(k, step(rec, k), n)
			if !ok {
				break
			}
			all = append(all, Look{Part: k, Number: n, At: at})
		}
	}
	return all
}

// A Look is one moment at which a part is looked at.
type Look struct {
	Part, Number int
	At           timecode.Video
}

// FewKeys tells whether a part has so few key frames that a survey looks through all of it.
func FewKeys(rec *frames.Recording, part int) bool { return rec.KeyCount(part) < fewKeys }

// Read finds and reads what is written on the recording.
func Read(ctx context.Context, tools *ffmpeg.Tools, rec *frames.Recording, o Options) (*Found, error) {
	if len(o.Parts) == 0 {
		o.Parts = Alike(rec)[0]
	}
	f := &Found{Size: rec.Parts[o.Parts[0]].StoredSize(), Parts: o.Parts}
	r := &run{tools: tools, rec: rec, size: f.Size, o: o}
	regions := []image.Rectangle{o.Box.Intersect(image.Rectangle{Max: f.Size})}
	if o.Box.Empty() {
		survey, err := r.survey(ctx)
		if err != nil {
			return nil, err
		}
		regions = survey.Regions()
	}
	if len(regions) == 0 || regions[0].Empty() {
		return f, nil
	}
	s, err := r.spool(ctx, regions)
	if err != nil {
		return nil, err
	}
	defer s.close()
	for i := range regions {
		line, err := counter.Read(ctx, s.region(i), o.Options)
		if err != nil {
			return nil, err
		}
		if !o.Box.Empty() && line.Kind == counter.Length {
			f.Counter = line // a person said so
		}
		line.Follow(s.motion)
		f.Lines = append(f.Lines, line)
	}
	if f.Counter == nil {
		f.Counter = counter.Choose(f.Lines)
	}
	return f, nil
}

type run struct {
	tools *ffmpeg.Tools
	rec   *frames.Recording
	size  image.Point
	o     Options
}

const (
	fewKeys     = 16 // with fewer key frames a part is looked through whole
	manyKeys    = 120
	surveyFresh = 60 // pictures looked at where key frames are few
)

// survey looks at pictures from all over the recording.
func (r *run) survey(ctx context.Context) (*counter.Survey, error) {
	survey := counter.NewSurvey(r.size)
	img := image.NewGray(image.Rectangle{Max: r.size})
	for _, k := range r.o.Parts {
		v := r.rec.Keys(k, r.rec.KeyCount(k)/manyKeys+1)
		if FewKeys(r.rec, k) {
			v = r.rec.Sampled(k, r.rec.Parts[k].Count/surveyFresh+1)
		}
		err := r.pictures(ctx, ffmpeg.Luma(v), func(pictures io.Reader) error {
			for {
				if _, err := io.ReadFull(pictures, img.Pix); err == io.EOF {
					return nil
				} else if err != nil {
					return err
				}
				survey.Add(img)
			}
		})
		if err != nil {
			return nil, err
		}
	}
	return survey, nil
}

func (r *run) pictures(ctx context.Context, v *ff.Stream, read func(io.Reader) error) error {
	out := ffmpeg.OutputPipe([]*ff.Stream{v}, ff.KwArgs{"f": "rawvideo", "pix_fmt": "gray", "fps_mode": "passthrough", "enc_time_base": "1:1000000"})
	_, err := r.tools.Do(ctx, ffmpeg.Run{Outputs: []*ff.Stream{out}, Sources: r.rec.Sources(), Stdout: read})
	return err
}

// Beside the strips goes the whole picture, this small: how much it changes from one moment
// to the next tells whether the camera moved.
const (
	smallWide = 32
	smallTall = 24
)

// A spool holds the strips of all regions on disk, those of one moment after another.
type spool struct {
	file    *safefile.TempFile
	regions []image.Rectangle
	offset  []int // of each region within a moment
	wide    int   // of a moment, all regions being padded to the widest
	size    int   // bytes of a moment
	at      []timecode.Video
	motion  []float64 // of each moment: how much the picture differs from that before, in levels
	before  []byte    // the small picture before
}

func (r *run) spool(ctx context.Context, regions []image.Rectangle) (*spool, error) {
	s := &spool{regions: regions}
	tall := 0
	for _, b := range regions {
		s.wide = max(s.wide, b.Dx())
		s.offset = append(s.offset, tall)
		tall += b.Dy()
	}
	s.wide = max(s.wide, smallWide)
	for i := range s.offset {
		s.offset[i] *= s.wide
	}
	s.size = s.wide * tall
	var err error
	if s.file, err = safefile.NewTempFile(r.o.Dir, "strips-"); err != nil {
		return nil, err
	}
	if r.o.Only != nil {
		for _, one := range r.o.Only {
			if err == nil {
				err = r.spoolOnly(ctx, s, one)
			}
		}
	} else {
		for _, k := range r.o.Parts {
			if err == nil {
				err = r.spoolFrom(ctx, s, k, 0, r.rec.Sampled(k, step(r.rec, k)))
			}
		}
	}
	if err != nil {
		s.close()
		return nil, err
	}
	return s, nil
}

func (r *run) spoolFrom(ctx context.Context, s *spool, part, from int, v *ff.Stream) error {
	return r.pictures(ctx, s.graph(v), func(pictures io.Reader) error {
		return s.take(ctx, pictures, func(n int) (timecode.Video, bool) {
			at, ok := r.rec.SampledAt(part, step(r.rec, part), from+n)
			if ok && r.o.Progress != nil {
				r.o.Progress(at.Seconds() / r.rec.End.Seconds())
			}
			return at, ok
		})
	})
}

// spoolOnly decodes a stretch by itself. Where any picture of it is missing nobody knows
// which, so that none counts.
func (r *run) spoolOnly(ctx context.Context, s *spool, one Stretch) error {
	before := len(s.at)
	v, ok := r.rec.SampledFrom(one.Part, step(r.rec, one.Part), one.From, one.Count)
	if !ok {
		return ErrSeek
	}
	err := r.spoolFrom(ctx, s, one.Part, one.From, v)
	if err == nil && len(s.at)-before != one.Count {
		err = ErrSeek
	}
	return err
}

// graph cuts the regions out and sets them below each other, and the small picture below all.
func (s *spool) graph(v *ff.Stream) *ff.Stream {
	v = ffmpeg.Luma(v)
	crop := func(v *ff.Stream, b image.Rectangle) *ff.Stream {
		v = v.Filter("crop", ff.Args{fmt.Sprint(b.Dx()), fmt.Sprint(b.Dy()), fmt.Sprint(b.Min.X), fmt.Sprint(b.Min.Y)}, ff.KwArgs{"exact": "1"})
		if b.Dx() < s.wide {
			v = v.Filter("pad", ff.Args{fmt.Sprint(s.wide), fmt.Sprint(b.Dy()), "0", "0"})
		}
		return v
	}
	split := v.Split()
	rows := make([]*ff.Stream, len(s.regions), len(s.regions)+1)
	for i, b := range s.regions {
		rows[i] = crop(split.Get(fmt.Sprint(i)), b)
	}
	small := split.Get(fmt.Sprint(len(rows))).Filter("scale", ff.Args{fmt.Sprint(smallWide), fmt.Sprint(smallTall)}, ff.KwArgs{"flags": "area"})
	if smallWide < s.wide {
		small = small.Filter("pad", ff.Args{fmt.Sprint(s.wide), fmt.Sprint(smallTall), "0", "0"})
	}
	rows = append(rows, small)
	return ff.Filter(rows, "vstack", nil, ff.KwArgs{"inputs": len(rows)})
}

func (s *spool) take(ctx context.Context, pictures io.Reader, at func(int) (timecode.Video, bool)) error {
	moment := make([]byte, s.size+s.wide*smallTall)
	for n := 0; ; n++ {
		if err := ctx.Err(); err != nil {
			return err
		}
		if _, err := io.ReadFull(pictures, moment); err == io.EOF {
			return nil
		} else if err != nil {
			return err
		}
		when, ok := at(n)
		if !ok {
			continue // more than the table promises: nobody knows when it is shown
		}
		if _, err := s.file.Write(moment[:s.size]); err != nil {
			return err
		}
		s.at = append(s.at, when)
		s.motion = append(s.motion, s.moved(moment[s.size:]))
	}
}

// moved is how much a small picture differs from the one before; 0 for the first.
func (s *spool) moved(small []byte) float64 {
	sum := 0
	for y := range smallTall {
		for x := range smallWide {
			if i := y*s.wide + x; s.before != nil {
				sum += max(int(small[i])-int(s.before[i]), int(s.before[i])-int(small[i]))
			}
		}
	}
	s.before = append(s.before[:0], small...)
	return float64(sum) / (smallWide * smallTall)
}

func (s *spool) close() {
	s.file.Close()
}

func (s *spool) region(i int) *strips { return &strips{s, i, make([]byte, s.wide*s.regions[i].Dy())} }

// strips are the pictures of one region.
type strips struct {
	spool *spool
	i     int
	rows  []byte
}

func (s *strips) Bounds() image.Rectangle { return s.spool.regions[s.i] }
func (s *strips) Len() int                { return len(s.spool.at) }

func (s *strips) At(i int) timecode.Video { return s.spool.at[i] }

func (s *strips) Read(i int, into *image.Gray) error {
	at := int64(i)*int64(s.spool.size) + int64(s.spool.offset[s.i])
	if _, err := s.spool.file.ReadAt(s.rows, at); err != nil {
		return err
	}
	wide := s.Bounds().Dx()
	for y := range s.Bounds().Dy() {
		copy(into.Pix[y*into.Stride:y*into.Stride+wide], s.rows[y*s.spool.wide:])
	}
	return nil
}
