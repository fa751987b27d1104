package clock

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"pushcue/internal/soak"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// A family is a kind of job drawn at random.
type family struct {
	name       string
	drift      float64   // standard deviation, ppm
	anchors    [2]int    // a part: at least, at most
	parts      [2]int    //
	resolution []float64 // of the log, seconds: of anchors and rows alike
	rows       []float64 // of rows, where it differs
	video      float64   // resolution of anchors' video times, seconds
	noise      float64   // in placing anchors, standard deviation in seconds
	pauses     bool      // parts may hold a pause, with two anchors on either side
	wrong      bool      // one anchor of the first part is off by 10 s to 1 h, either way
}

var families = []family{
	{name: "to the second", drift: 70, anchors: [2]int{1, 5}, parts: [2]int{1, 3}, resolution: []float64{1}, video: 0.1},
	{name: "to the tenth", drift: 70, anchors: [2]int{1, 5}, parts: [2]int{1, 3}, resolution: []float64{0.1}, video: 0.1},
	{name: "to the minute", drift: 70, anchors: [2]int{1, 5}, parts: [2]int{1, 2}, resolution: []float64{60}, video: 1},
	{name: "anchors to the minute, rows to the second", drift: 70, anchors: [2]int{2, 6}, parts: [2]int{1, 1}, resolution: []float64{60}, rows: []float64{1}, video: 0.1},
	{name: "mixed, calm clocks", drift: 50, anchors: [2]int{1, 6}, parts: [2]int{1, 3}, resolution: []float64{0.1, 1, 60}, video: 0.1},
	{name: "mixed, lively clocks", drift: 100, anchors: [2]int{1, 6}, parts: [2]int{1, 3}, resolution: []float64{0.1, 1, 60}, video: 0.1},
	{name: "placed by hand", drift: 70, anchors: [2]int{3, 7}, parts: [2]int{1, 2}, resolution: []float64{0.1, 1}, video: 0.1, noise: 0.15},
	{name: "placed badly", drift: 70, anchors: [2]int{4, 8}, parts: [2]int{1, 2}, resolution: []float64{0.1, 1}, video: 0.1, noise: 0.4},
	{name: "paused", drift: 70, anchors: [2]int{4, 6}, parts: [2]int{1, 2}, resolution: []float64{0.1, 1}, video: 0.1, pauses: true},
	{name: "one wrong", drift: 70, anchors: [2]int{4, 6}, parts: [2]int{1, 2}, resolution: []float64{0.1, 1}, video: 0.1, wrong: true},
}

// A job drawn at random: what is true, and what was written.
type job struct {
	parts   []Span
	offset  []float64 // a part
	pauseAt []float64 // recording time; 0: none
	pause   []float64
	rate    float64
	anchors []Anchor
}

func draw(r *rand.Rand, lo, hi int) int            { return lo + r.IntN(hi-lo+1) }
func between(r *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }

// written is what a clock of that resolution shows, taken at its middle.
func written(t, resolution float64) float64 {
	return math.Floor(t/resolution)*resolution + resolution/2
}

func (j *job) log(part int, v float64) float64 {
	l := v*(1+j.rate) + j.offset[part]
	if j.pauseAt[part] > 0 && v > j.pauseAt[part] {
		l += j.pause[part]
	}
	return l
}

func (fam family) draw(r *rand.Rand) *job {
	j := &job{rate: r.NormFloat64() * fam.drift * ppm}
	n := draw(r, fam.parts[0], fam.parts[1])
	total := between(r, 600, 4*3600)
	offset := between(r, -3600, 3600)
	var start float64
	for p := range n {
		length := total / float64(n) * between(r, 0.6, 1.4)
		if p > 0 {
			offset += between(r, 0, 600) * float64(r.IntN(2))
		}
		j.parts = append(j.parts, Span{Start: timecode.VideoSeconds(start), End: timecode.VideoSeconds(start + length)})
		j.offset = append(j.offset, offset)
		var at, pause float64
		if fam.pauses && r.IntN(3) > 0 {
			at, pause = start+length*between(r, 0.4, 0.6), math.Exp(between(r, math.Log(10), math.Log(1800)))
		}
		j.pauseAt, j.pause = append(j.pauseAt, at), append(j.pause, pause)
		resolution := fam.resolution[r.IntN(len(fam.resolution))]
		count := draw(r, fam.anchors[0], fam.anchors[1])
		for k := range count {
			v := start + length*r.Float64()
			if at > 0 {
				if k%2 == 0 {
					v = between(r, start, at)
				} else {
					v = between(r, at, start+length)
				}
			}
			named := min(max(v+r.NormFloat64()*fam.noise, start), start+length)
			a := Anchor{
				Name:      words.Tell("anchor"),
				Log:       morning + timecode.LogSeconds(written(j.log(p, v), resolution)),
				LogHalf:   seconds(resolution / 2),
				Video:     timecode.VideoSeconds(min(written(named, fam.video), start+length)),
				VideoHalf: seconds(fam.video / 2),
			}
			j.anchors = append(j.anchors, a)
		}
		offset += pause
		start += length
	}
	if fam.wrong {
		by := math.Exp(between(r, math.Log(10), math.Log(3600))) * float64(2*r.IntN(2)-1)
		j.anchors[1].Log = j.anchors[1].Log.Add(seconds(by))
	}
	return j
}

// A hundred jobs a family show what is grossly wrong; a thousand, in a soak, hold
// each family to the bar itself.
func TestHalfWidthsHoldTheTruth(t *testing.T) {
	jobs, low, high := 100, 0.91, 0.985
	if soak.On() {
		jobs, low, high = 1000, 0.93, 0.97
	}
	for k, fam := range families {
		t.Run(fam.name, func(t *testing.T) {
			t.Parallel()
			r := rand.New(rand.NewPCG(uint64(k), 2026))
			var held, all, refused, open, aside int
			var halves, errs, relative []float64
			began := time.Now()
			for range jobs {
				j := fam.draw(r)
				f, err := Tie(j.parts, j.anchors, Options{})
				if err != nil {
					refused++
					continue
				}
				aside += len(f.SetAside)
				for range 20 {
					p := r.IntN(len(j.parts))
					v := between(r, j.parts[p].Start.Seconds(), j.parts[p].End.Seconds())
					resolution := fam.resolution[r.IntN(len(fam.resolution))]
					if fam.rows != nil {
						resolution = fam.rows[0]
					}
					got, half, ok, _ := f.Video(morning+timecode.LogSeconds(written(j.log(p, v), resolution)), seconds(resolution/2))
					if !ok {
						open++
						continue
					}
					all++
					off := math.Abs(got.Seconds() - v)
					if off <= half.Seconds() {
						held++
					}
					relative = append(relative, half.Seconds()/off)
					halves, errs = append(halves, half.Seconds()), append(errs, off)
				}
			}
			slices.Sort(halves)
			slices.Sort(errs)
			slices.Sort(relative)
			share := float64(held) / float64(all)
			ratio := relative[len(relative)/2]
			t.Logf(fam.name+": %.2f %% of %d inside ±, median ± %.3f s is %.2f × the error in the median (medians %.2f); %d jobs refused, %d aside, %d rows open; %v a job",
				100*share, all, halves[len(halves)/2], ratio, halves[len(halves)/2]/errs[len(errs)/2], refused, aside, open, time.Since(began)/time.Duration(jobs))
			if share < low || share > high {
				t.Errorf("%.1f %% inside ±, want %.0f–%.0f %%", 100*share, 100*low, 100*high)
			}
			if ratio > 3.5 {
				t.Errorf("± is %.2f × the error in the median, want at most 3.5", ratio)
			}
			// Medians of a mixture of coarse and fine rows compare one kind's ± with
			// the other's error, so they are held to the bar only where all are alike.
			if medians := halves[len(halves)/2] / errs[len(errs)/2]; len(fam.resolution) == 1 && medians > 3.5 {
				t.Errorf("the median ± is %.2f × the median error, want at most 3.5", medians)
			}
		})
	}
}
