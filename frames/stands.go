package frames

import (
	"context"
	"io"
	"math"
	"slices"
	"strconv"
	"time"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/internal/ffmpeg"
	"pushcue/timeline/timecode"
)

// A Stand is a time during which the camera stood still, as far as the pictures
// alone tell: water that fills most of the picture, or a lens that steams up, looks
// like movement; a pipe without any marks like a stand.
type Stand struct{ From, To timecode.Video }

// How stands are looked for: small pictures, several a second, compared with the
// last but one. What moves in a small part of the picture only, as water along the
// invert or the digits of a clock do, doesn't count, since it's the middle of the
// blocks' changes that does.
const (
	smallWidth, smallHeight = 160, 90
	blockSize               = 10
	smallPerSecond          = 5
	compareBack             = 2
	shortestStand           = 1500 * time.Millisecond // two seconds, less what coming to rest takes
	leastContrast           = 2.5                     // of what moving changes against what standing does
)

// FindStands tells when the camera stood. It decodes the recording once. None where
// the pictures don't tell standing from moving.
func (r *Recording) FindStands(ctx context.Context, tools *ffmpeg.Tools, progress func(timecode.Video)) ([]Stand, error) {
	var stands []Stand
	for k := range r.Parts {
		m, err := r.movement(ctx, tools, k, progress)
		if err != nil {
			return nil, err
		}
		stands = append(stands, m.stands()...)
	}
	return stands, nil
}

// movement is how much the picture changes, through one part.
type movement struct {
	from   []timecode.Video // of the earlier picture of each pair
	to     []timecode.Video // of the later one
	levels []float64        // middle change of a block, in levels of brightness
}

func (r *Recording) movement(ctx context.Context, tools *ffmpeg.Tools, k int, progress func(timecode.Video)) (*movement, error) {
	step := max(1, int(r.Parts[k].Rate.Float()/smallPerSecond+0.5))
	v := ffmpeg.Luma(r.Sampled(k, step))
	v = v.Filter("scale", ff.Args{strconv.Itoa(smallWidth), strconv.Itoa(smallHeight)}, ff.KwArgs{"flags": "area"})
	out := ffmpeg.OutputPipe([]*ff.Stream{v}, ff.KwArgs{"f": "rawvideo", "pix_fmt": "gray", "fps_mode": "passthrough", "enc_time_base": "1:1000000"})
	m := &movement{}
	_, err := tools.Do(ctx, ffmpeg.Run{Outputs: []*ff.Stream{out}, Sources: r.Sources(), Stdout: func(pictures io.Reader) error {
		var last [compareBack][]byte
		var shown [compareBack]timecode.Video
		for i := range last {
			last[i] = make([]byte, smallWidth*smallHeight)
		}
		pix := make([]byte, smallWidth*smallHeight)
		for n := 0; ; n++ {
			if err := ctx.Err(); err != nil {
				return err
			}
			if _, err := io.ReadFull(pictures, pix); err == io.EOF {
				return nil
			} else if err != nil {
				return err
			}
			at, ok := r.SampledAt(k, step, n)
			if !ok {
				continue
			}
			if progress != nil {
				progress(at)
			}
			oldest := last[n%compareBack]
			if n >= compareBack {
				m.from, m.to = append(m.from, shown[n%compareBack]), append(m.to, at)
				m.levels = append(m.levels, middleChange(oldest, pix))
			}
			last[n%compareBack], pix = pix, oldest
			shown[n%compareBack] = at
		}
	}})
	return m, err
}

// middleChange is the median over blocks of the mean change of their pixels, less
// what the whole picture got brighter or darker by.
func middleChange(a, b []byte) float64 {
	shift := 0
	for i := range a {
		shift += int(b[i]) - int(a[i])
	}
	shift /= len(a)
	const across = smallWidth / blockSize
	var sums [across * (smallHeight / blockSize)]int
	for y := range smallHeight {
		row := sums[y/blockSize*across:]
		for x := range smallWidth {
			d := int(b[y*smallWidth+x]) - int(a[y*smallWidth+x]) - shift
			row[x/blockSize] += max(d, -d)
		}
	}
	slices.Sort(sums[:])
	return float64(sums[len(sums)/2]) / (blockSize * blockSize)
}

// stands parts standing from moving where the changes fall into two kinds.
func (m *movement) stands() (stands []Stand) {
	limit, ok := m.limit()
	if !ok {
		return nil
	}
	still := func(i int) bool { // two of three, so that one flash of light changes nothing
		n := 0
		for k := max(0, i-1); k <= min(i+1, len(m.levels)-1); k++ {
			if m.levels[k] < limit {
				n++
			}
		}
		return n >= 2
	}
	for i := 0; i < len(m.to); i++ {
		if !still(i) {
			continue
		}
		first := i
		for i+1 < len(m.to) && still(i+1) {
			i++
		}
		if s := (Stand{m.from[first], m.to[i]}); s.To.Sub(s.From) >= shortestStand {
			stands = append(stands, s)
		}
	}
	return stands
}

// limit parts the changes into two kinds where that leaves the least spread within
// each, on a scale of ratios (N. Otsu, A threshold selection method from gray-level
// histograms, IEEE Trans. SMC 9, 1979); false where the two aren't far apart.
func (m *movement) limit() (limit float64, ok bool) {
	n := len(m.levels)
	if n < 10 {
		return 0, false
	}
	const quietest = 0.5 // less is noise, or the silence of a coding that repeats pictures
	logs := make([]float64, n)
	sum := 0.0
	for i, l := range m.levels {
		logs[i] = math.Log(max(l, quietest))
		sum += logs[i]
	}
	slices.Sort(logs)
	best, at, contrast := -1.0, 0, 0.0
	below := 0.0
	for i := 1; i < n; i++ {
		below += logs[i-1]
		low, high := below/float64(i), (sum-below)/float64(n-i)
		if between := float64(i) * float64(n-i) * (high - low) * (high - low); between > best {
			best, at, contrast = between, i, high-low
		}
	}
	return math.Exp((logs[at-1] + logs[at]) / 2), contrast >= math.Log(leastContrast)
}
