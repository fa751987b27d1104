package frames

import (
	"context"
	"fmt"
	"image"
	"io"
	"slices"
	"strconv"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/internal/ffmpeg"
	"pushcue/timeline/words"
)

// ErrCount says that a run gave other pictures than the table promises: the
// recording is damaged in its middle, and Open with Options.Decode puts it right.
var ErrCount = words.Errorf("the recording gives another number of pictures than its packets promise")

// A Picker takes stills from pictures that pass by in one run: it is given the
// frames of all windows and keeps a few on disk, never in memory.
type Picker struct {
	recording *Recording
	searches  []*search
	needed    []stretch
	dir       string
}

// NewPicker plans the stills of one run. dir is where pictures may wait.
func (r *Recording) NewPicker(wants []Want, dir string) *Picker {
	p := &Picker{recording: r, dir: dir}
	for _, w := range wants {
		p.searches = append(p.searches, r.search(w))
	}
	p.needed = r.needed(p.searches)
	return p
}

// Graph takes the wanted frames out of joined, which is Joined.Video or a split of it
// with every frame in it, as the raw pictures that Read expects at its output.
// nil when there is nothing to take.
func (p *Picker) Graph(joined *ff.Stream) *ff.Stream {
	if len(p.needed) == 0 {
		return nil
	}
	return joined.Filter("select", ff.Args{within("n", p.needed, func(n stretch) (from, to int64) { return int64(n.from), int64(n.to) })})
}

// within is ffmpeg's expression for "the variable is in one of the stretches", whose
// bounds are told in the variable's terms; stretches ascend.
func within(variable string, all []stretch, bounds func(stretch) (from, to int64)) string {
	return ffmpeg.Halves(variable, len(all),
		func(i int) string { from, _ := bounds(all[i]); return strconv.FormatInt(from, 10) },
		func(i int) string {
			from, to := bounds(all[i])
			return fmt.Sprintf("between(%s,%d,%d)", variable, from, to)
		})
}

// OutputArgs are the options of the pipe output: ffmpeg.OutputPipe([]*ff.Stream{p.Graph(v)}, p.OutputArgs()).
func (p *Picker) OutputArgs() ff.KwArgs { return rawPictures() }

func rawPictures() ff.KwArgs {
	return ff.KwArgs{"f": "rawvideo", "pix_fmt": "yuv420p", "fps_mode": "passthrough", "enc_time_base": "1:1000000"}
}

// Read takes the pictures from the pipe (it is Run.Stdout) and yields each still
// as soon as its window has passed. When the run turns out to have given another
// number of frames than Times holds, what was yielded is worthless.
func (p *Picker) Read(ctx context.Context, pictures io.Reader, yield func(Still) error) error {
	return p.read(ctx, pictures, false, yield)
}

// read is Read; late yields nothing before all pictures have come, and none too many.
func (p *Picker) read(ctx context.Context, pictures io.Reader, late bool, yield func(Still) error) error {
	r := p.recording
	size := r.Width*r.Height + 2*(r.Width/2)*(r.Height/2)
	s, err := newSpool(p.dir, size)
	if err != nil {
		return err
	}
	defer s.close()

	w := &watch{picker: p, spool: s, late: late, open: slices.Clone(p.searches), yield: yield, free: [][]byte{make([]byte, size), make([]byte, size)}}
	slices.SortStableFunc(w.open, func(a, b *search) int { return a.first - b.first })
	for _, n := range p.needed {
		for i := n.from; i <= n.to; i++ {
			if err := ctx.Err(); err != nil {
				return err
			}
			pix := w.free[0]
			if _, err := io.ReadFull(pictures, pix); err == io.EOF || err == io.ErrUnexpectedEOF {
				return words.Errorf("%s: frame %d of %d is missing", ErrCount, i, len(r.Times))
			} else if err != nil {
				return err
			}
			w.free = w.free[1:]
			if err := w.pass(&picture{index: i, pix: pix, spool: s}); err != nil {
				return err
			}
		}
		if err := w.flush(); err != nil {
			return err
		}
	}
	if n, err := pictures.Read(make([]byte, 1)); n > 0 {
		return words.Errorf("%s: more came than were asked for", ErrCount)
	} else if err != nil && err != io.EOF {
		return err
	}
	for _, s := range w.done {
		if err := w.take(s); err != nil {
			return err
		}
	}
	return nil
}

// A watch sees pictures pass, one behind: whether the camera stood still is known
// only with the next picture.
type watch struct {
	picker *Picker
	spool  *spool
	open   []*search // by their first frame
	late   bool
	done   []*search // waiting for the end, when late
	yield  func(Still) error

	free   [][]byte
	behind *picture // passed, not yet considered
	small  [2]luma  // of behind, and room for the next
	change float64  // between behind and the one before; -1 when that is no neighbour
}

// pass takes the next picture and considers the one behind it.
func (w *watch) pass(p *picture) error {
	r := w.picker.recording
	reduce(p.pix[:r.Width*r.Height], r.Width, r.Height, &w.small[1])
	p.score = w.small[1].judge()
	change := -1.0
	if w.behind != nil && r.partOf(p.index) == r.partOf(w.behind.index) {
		change = w.small[0].difference(&w.small[1])
	}
	if err := w.consider(change); err != nil {
		return err
	}
	w.small[0], w.small[1] = w.small[1], w.small[0]
	w.behind, w.change = p, change
	return nil
}

// flush considers the last picture of a stretch.
func (w *watch) flush() error { return w.consider(-1) }

func (w *watch) consider(after float64) error {
	p := w.behind
	if p == nil {
		return nil
	}
	w.behind = nil
	p.score.moved = mean(w.change, after)
	r := w.picker.recording
	for _, s := range w.open {
		if s.first > p.index {
			break
		}
		s.consider(p, r.Times[p.index].Sub(0), r.Times[s.exact].Sub(0))
	}
	w.free, p.pix = append(w.free, p.pix), nil
	return w.close(p.index)
}

// mean of two changes, of which either may be unknown.
func mean(a, b float64) float64 {
	switch {
	case a < 0 && b < 0:
		return 0
	case a < 0:
		return b
	case b < 0:
		return a
	}
	return (a + b) / 2
}

// close yields the stills whose window has passed.
func (w *watch) close(index int) error {
	still := w.open[:0]
	for _, s := range w.open {
		if s.last > index {
			still = append(still, s)
			continue
		}
		if w.late {
			w.done = append(w.done, s)
		} else if err := w.take(s); err != nil {
			return err
		}
	}
	w.open = still
	return nil
}

func (w *watch) take(s *search) error {
	r := w.picker.recording
	chosen := s.chosen()
	pix, err := chosen.pixels()
	if err != nil {
		return err
	}
	img := r.image(pix)
	r.Parts[0].matrix().toJPEG().apply(img)
	taken := Still{ID: s.want.ID, Exact: r.Frame(s.exact), Best: r.Frame(chosen.index), Picture: img, Why: s.why(r)}
	s.best.drop()
	s.kept.drop()
	return w.yield(taken)
}

// image wraps raw planes.
func (r *Recording) image(pix []byte) *image.YCbCr {
	y, c := r.Width*r.Height, (r.Width/2)*(r.Height/2)
	return &image.YCbCr{
		Y: pix[:y:y], Cb: pix[y : y+c : y+c], Cr: pix[y+c : y+2*c : y+2*c],
		YStride: r.Width, CStride: r.Width / 2,
		SubsampleRatio: image.YCbCrSubsampleRatio420, Rect: image.Rect(0, 0, r.Width, r.Height),
	}
}
