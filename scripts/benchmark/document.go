package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
)

// pageRow: page and report of 200 observations, beyond the same run that finds both
// in place.
func pageRow(ctx context.Context, b *bench) ([]result, error) {
	const minutes, observations = 2, 200
	recording, err := b.drain(ctx, minutes)
	if err != nil {
		return nil, err
	}
	job, err := b.job("page", recording, minutes*60, observations)
	if err != nil {
		return nil, err
	}
	ours := func(without ...string) (usage, error) {
		for _, name := range without {
			if err := os.Remove(filepath.Join(job, "handover", name)); err != nil {
				return usage{}, err
			}
		}
		return measure(ctx, b.work, []int{3}, b.pushcue, "make", "--quiet", "--only", "stills,page,report", job)
	}
	if _, err := ours(); err != nil { // the pictures
		return nil, err
	}
	mine, kept, err := inTurn(b.rounds,
		func() (usage, error) { return ours("index.html", "report.pdf") },
		func() (usage, error) { return ours() })
	if err != nil {
		return nil, err
	}
	var beyond []float64
	for i := range mine {
		beyond = append(beyond, mine[i].wall.Seconds()-kept[i].wall.Seconds())
	}
	return []result{
		{what: fmt.Sprintf("page and report of %d observations", observations), value: median(beyond), unit: "s", limit: 2, detail: against(mine, kept)},
		{what: "page and report, own memory", value: peak(mine), unit: "MiB", limit: 100},
	}, nil
}
