// Package placingset draws jobs by chance, with the truth beside them, to measure how
// well rows are placed and how honest their ± is (scripts/bench placing).
//
//	for i := range uint64(5000) {
//		job := placingset.Draw(seed, i)
//		in, err := job.Input(ctx)
//		…
//		line, err := timeline.Resolve(ctx, in)
//
// Its laws and numbers are its own (common practice, no published source): it shares
// neither code nor constants with package timeline, whose readers of sheet and log it
// goes through, so that the model is measured against something else than itself.
package placingset

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"

	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
)

// A Job is a push, what was written about it, and the truth.
type Job struct {
	Sheet     string // job.toml
	Log       string // log.csv
	Recording timeline.Recording
	Readings  []distance.Reading // of the counter; empty without a track
	Stands    []timeline.Stand   // when the pictures stand still; for jobs without a track
	Rows      []Row              // by data row

	Writer     string // "prompt", "late" or "uneven"
	Resolution string // of the log's times: "tenth", "second" or "minute"
	Tie        string // "nothing", "start", "file time", "1 anchor", "2 anchors", "3 or 4 anchors"
	Source     string // of the track: "picture", "file" or "none"
	Parts      int
	Paused     bool // inside a part
	Wrong      bool // one of its anchors is
	Slip       bool // the log's distances and the track's don't agree in scale
	Reset      bool // the counter was set to zero on the way
	Night      bool // midnight or a change of summer time lies in it
}

// A Row is the truth about a row of the log.
type Row struct {
	Seen   float64 // seconds of recording at which the camera showed it
	Late   float64 // seconds after which it was written
	Typo   bool    // its distance isn't the one that was seen
	Timed  bool
	Placed bool // it has a distance
	Passes int  // how often the camera came to that place
}

// Draw draws job i of a seed's; always the same one.
func Draw(seed, i uint64) Job { return newDrawing(seed, i).job() }

// Input reads the job's sheet and log as the program would.
func (j Job) Input(ctx context.Context) (timeline.Input, error) {
	sheet, err := jobsheet.Read(jobsheet.Sources{Job: &jobsheet.Source{File: "job.toml", Data: []byte(j.Sheet)}})
	if err != nil {
		return timeline.Input{}, err
	}
	log, err := fieldlog.Read(ctx, strings.NewReader(j.Log), fieldlog.Options{
		File: "log.csv", Date: timecode.Date(sheet.Job.Date), Zone: sheet.Job.Zone})
	if err != nil {
		return timeline.Input{}, err
	}
	return timeline.Input{Sheet: sheet, Log: log, Recording: j.Recording, Readings: j.Readings, Stands: j.Stands}, nil
}

// A drawing is a job in the making.
type drawing struct {
	*rand.Rand
	Job
	push   push
	breaks []pause // in order
	drift  float64 // log clock against the recording, as a fraction
	began  float64 // log clock at the first frame, seconds after the date's midnight
}

// A pause is log time that passed while nothing was recorded.
type pause struct {
	at, length float64
	part       bool // a new file begins after it
}

func newDrawing(seed, i uint64) *drawing {
	return &drawing{Rand: rand.New(rand.NewPCG(seed, i))}
}

func (d *drawing) chance(p float64) bool { return d.Float64() < p }

// between draws evenly, spread so that each factor is as likely as the next.
func (d *drawing) between(low, high float64) float64 { return low + d.Float64()*(high-low) }
func (d *drawing) spread(low, high float64) float64 {
	return low * math.Exp(d.Float64()*math.Log(high/low))
}

// of draws an index by weights.
func (d *drawing) of(weights ...float64) int {
	var sum float64
	for _, w := range weights {
		sum += w
	}
	u := d.Float64() * sum
	for i, w := range weights {
		if u -= w; u < 0 {
			return i
		}
	}
	return len(weights) - 1
}

func (d *drawing) job() Job {
	d.push = d.walk(60 * d.between(5, 30))
	d.film()
	sheet := &strings.Builder{}
	date := "2026-05-19"
	d.began = 60 * d.between(7*60, 17*60)
	switch d.of(0.94, 0.03, 0.03) {
	case 1:
		d.Night, d.began = true, 86400-d.Float64()*d.push.end()
	case 2:
		d.Night, date = true, "2026-10-25" // 02:00 becomes 01:00 in Lisbon
		d.began = 7200 - d.Float64()*d.push.end()
	}
	d.drift = d.between(0, 200e-6) * float64(1-2*d.IntN(2))
	fmt.Fprintf(sheet, "[job]\ndate = %s\nzone = \"Europe/Lisbon\"\n", date)
	lines := d.write()
	d.tie(sheet, lines)
	d.Sheet = sheet.String()
	d.read()
	return d.Job
}

// film cuts the recording into parts, and draws when nothing was recorded.
func (d *drawing) film() {
	end := d.push.end()
	d.Parts = 1 + d.of(0.65, 0.2, 0.1, 0.05)
	for p := 1; p < d.Parts; p++ {
		at := math.Round(end*(float64(p)+d.between(-0.25, 0.25))/float64(d.Parts)*25) / 25
		d.breaks = append(d.breaks, pause{at, d.spread(4, 2400), true})
	}
	if d.Paused = d.chance(0.12); d.Paused {
		p := pause{at: end * d.between(0.15, 0.85), length: d.spread(8, 1200)}
		i := 0
		for i < len(d.breaks) && d.breaks[i].at < p.at {
			i++
		}
		d.breaks = append(d.breaks[:i], append([]pause{p}, d.breaks[i:]...)...)
	}
	starts := []float64{0}
	for _, b := range d.breaks {
		if b.part {
			starts = append(starts, b.at)
		}
	}
	starts = append(starts, end)
	rec := &d.Recording
	for n := 0; float64(n) < end*25; n++ {
		rec.Frames = append(rec.Frames, timecode.Video(n)*40_000_000)
	}
	rec.End = timecode.Video(len(rec.Frames)) * 40_000_000
	for i := range d.Parts {
		from, to := timecode.VideoSeconds(starts[i]), timecode.VideoSeconds(starts[i+1])
		if i == d.Parts-1 {
			to = rec.End
		}
		rec.Parts = append(rec.Parts, timeline.Part{File: fmt.Sprintf("part%d.mp4", i+1), Start: from,
			Duration: to.Sub(from), First: int(math.Round(starts[i] * 25)), Rate: timecode.Rate{Num: 25, Den: 1}})
	}
}

// shows is the log's clock at v, in seconds after the date's midnight.
func (d *drawing) shows(v float64) float64 {
	at := d.began + v*(1+d.drift)
	for _, b := range d.breaks {
		if b.at <= v {
			at += b.length
		}
	}
	return at
}
