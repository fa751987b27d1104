package main

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"pushcue/internal/placingset"
	"pushcue/timeline"
)

// placingRow: how well rows are placed in made-up jobs, by kind, and whether their ±
// holds what it claims.
func placingRow(ctx context.Context, b *bench) ([]result, error) {
	all := map[string]*placed{}
	refused, cannot := 0, 0
	for i := range uint64(b.jobs) {
		job := placingset.Draw(b.seed, i)
		in, err := job.Input(ctx)
		if err != nil {
			cannot++ // its log is ambiguous, and is asked about
			continue
		}
		line, err := timeline.Resolve(ctx, in)
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if err != nil {
			refused++ // its anchors contradict each other
			continue
		}
		count(all, int(i), job, line)
	}
	fmt.Printf("%d jobs: %d refused since their anchors contradict each other, %d asked about\n", b.jobs, refused, cannot)
	fmt.Printf("%-34s %5s %6s %6s  %-22s %6s %6s %5s %6s %6s\n", "kind", "jobs", "rows", "placed", "within ± (95 % interval)", "error", "±", "ratio", "sure", "wrong")
	names := make([]string, 0, len(all))
	for name := range all {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		fmt.Println(all[name].line(name))
	}
	whole := all["all"]
	low, high := 100.0, 0.0 // of kinds that are common enough to judge
	for name, p := range all {
		if len(p.jobs) >= 200 && name != "all" {
			low, high = min(low, 100*p.share()), max(high, 100*p.share())
		}
	}
	return []result{
		{what: "placing: within ± of all rows, at least", value: 100 * whole.share(), unit: "%", limit: 93, least: true},
		{what: "placing: within ± of all rows, at most", value: 100 * whole.share(), unit: "%", limit: 97},
		{what: "placing: least of a kind of 200 jobs", value: low, unit: "%", limit: 90, least: true},
		{what: "placing: most of a kind of 200 jobs", value: high, unit: "%", limit: 98},
		{what: "placing: sure, and off by more than 10 s", value: 100 * float64(whole.wrong) / float64(max(1, whole.sure)), unit: "%", limit: 0.5},
		{what: "placing: median ± in median errors", value: middle(whole.half) / middle(whole.off), unit: "x", limit: 3.5},
		{what: "placing: rows placed", value: 100 * float64(len(whole.off)) / float64(whole.rows), unit: "%"},
	}, nil
}

// placed are the rows of one kind.
type placed struct {
	rows      int // placed or not
	off, half []float64
	held      int
	between   int // the truth lies between earliest and latest
	sure      int
	wrong     int // sure, and off by more than 10 s
	jobs      map[int][2]int
}

func count(all map[string]*placed, number int, job placingset.Job, line *timeline.Timeline) {
	of := func(name string) *placed {
		if all[name] == nil {
			all[name] = &placed{jobs: map[int][2]int{}}
		}
		return all[name]
	}
	for _, o := range line.Observations {
		row := job.Rows[o.Row-1]
		off := math.Abs(o.Video.Seconds() - row.Seen)
		for _, name := range append(kindsOf(job, row), "basis "+string(o.Basis)) {
			of(name).add(number, off, o)
		}
	}
	for _, u := range line.Unplaced {
		for _, name := range kindsOf(job, job.Rows[u.Row-1]) {
			of(name).rows++
		}
	}
}

func (p *placed) add(job int, off float64, o timeline.Observation) {
	half := o.Uncertainty.Seconds()
	p.rows++
	p.off, p.half = append(p.off, off), append(p.half, half)
	n := p.jobs[job]
	n[1]++
	if off <= half {
		p.held++
		n[0]++
	}
	p.jobs[job] = n
	if o.Sure {
		p.sure++
		if off > 10 {
			p.wrong++
		}
	}
}

func (p *placed) share() float64 { return float64(p.held) / float64(max(1, len(p.off))) }

// interval is where the share lies in 95 of 100 draws of as many jobs from these
// (B. Efron, Bootstrap methods: another look at the jackknife, Annals of Statistics 7
// (1979)): rows of one job aren't independent.
func (p *placed) interval() (low, high float64) {
	r := rand.New(rand.NewPCG(1, 2))
	numbers := make([]int, 0, len(p.jobs))
	for n := range p.jobs {
		numbers = append(numbers, n)
	}
	slices.Sort(numbers)
	var shares []float64
	for range 400 {
		held, all := 0, 0
		for range numbers {
			n := p.jobs[numbers[r.IntN(len(numbers))]]
			held, all = held+n[0], all+n[1]
		}
		shares = append(shares, float64(held)/float64(max(1, all)))
	}
	slices.Sort(shares)
	return shares[9], shares[389]
}

func (p *placed) line(name string) string {
	if len(p.off) == 0 {
		return fmt.Sprintf("%-34s %5d %6d %5.1f%%", name, 0, p.rows, 0.0)
	}
	low, high := p.interval()
	return fmt.Sprintf("%-34s %5d %6d %5.1f%%  %5.1f %% (%4.1f to %5.1f) %6.2f %6.2f %5.2f %6d %5.2f%%", name, len(p.jobs), p.rows,
		100*float64(len(p.off))/float64(p.rows), 100*p.share(), 100*low, 100*high, middle(p.off), middle(p.half),
		middle(p.half)/middle(p.off), p.sure, 100*float64(p.wrong)/float64(max(1, p.sure)))
}

func middle(of []float64) float64 {
	if len(of) == 0 {
		return 0
	}
	sorted := slices.Sorted(slices.Values(of))
	return sorted[len(sorted)/2]
}

// kindsOf are what a row counts for.
func kindsOf(j placingset.Job, r placingset.Row) []string {
	names := []string{"all", "writer " + j.Writer, "times to the " + j.Resolution, "track " + j.Source, "tie " + j.Tie}
	flag := func(is bool, yes, no string) {
		if is {
			names = append(names, yes)
		} else if no != "" {
			names = append(names, no)
		}
	}
	flag(j.Paused, "paused inside a part", "no pause inside a part")
	flag(j.Parts > 1, "several parts", "one part")
	flag(j.Wrong, "one anchor wrong", "")
	flag(j.Slip, "counter slips", "")
	flag(j.Reset, "counter set to zero", "")
	flag(j.Night, "midnight or end of summer time", "")
	flag(len(j.Stands) > 0, "stands known, no track", "")
	flag(!r.Timed, "row without a time", "")
	flag(!r.Placed, "row without a distance", "")
	if r.Placed && j.Source != "none" {
		flag(r.Typo, "distance mistyped", "")
		flag(r.Passes > 1, "passed more than once", "passed once")
	}
	clean := j.Source != "none" && !j.Paused && !j.Wrong && !j.Slip && !j.Reset && !r.Typo && r.Timed && r.Placed && r.Late <= 30
	flag(clean, "clean, "+j.Writer, "")
	return names
}
