package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"strconv"
	"strings"
)

// reviewRow: a push of two hours with 400 rows is looked over in a real browser, which
// takes Chromium. These are seconds on this computer and not ratios: what a person waits
// for. They only mean something where nothing else runs.
func reviewRow(ctx context.Context, b *bench) ([]result, error) {
	run := exec.CommandContext(ctx, "go", "test", "-vet=off", "-run", "^$", "-bench", "^BenchmarkALongJob$", "-benchtime", "1x",
		"-count", strconv.Itoa(b.rounds), "-timeout", "0", "./internal/review")
	var said bytes.Buffer
	run.Stdout, run.Stderr = &said, os.Stderr
	if err := run.Run(); err != nil {
		return nil, fmt.Errorf("%w: %s", err, said.String())
	}
	took := figuresIn(said.String())
	var results []result
	for _, r := range []struct {
		name, what, unit string
		limit            float64
	}{
		{"sight-s", "review of 2 h and 400 rows, first sight", "s", 2},
		{"cold-s", "review of 2 h and 400 rows, opened first of all", "s", 0},
		{"seek-s", "review, a frame sought", "s", 0.3},
		{"seek-slow-s", "review, a frame sought, 9 in 10", "s", 0},
		{"step-s", "review, a step", "s", 0},
		{"placed-s", "review, a correction placed", "s", 0.1},
		{"seen-s", "review, a correction seen", "s", 0.3},
		{"page-MB", "review, the page's memory", "MB", 200},
	} {
		if len(took[r.name]) == 0 {
			return nil, fmt.Errorf("the benchmark doesn't tell %s: %s", r.name, said.String())
		}
		results = append(results, result{what: r.what, value: median(took[r.name]), unit: r.unit, limit: r.limit})
	}
	return results, nil
}

// figuresIn are the figures that a Go benchmark prints, each behind its value, by name.
func figuresIn(output string) map[string][]float64 {
	all := map[string][]float64{}
	for line := range strings.Lines(output) {
		fields := strings.Fields(line)
		if len(fields) < 2 || !strings.HasPrefix(fields[0], "Benchmark") {
			continue
		}
		for i := 2; i+1 < len(fields); i += 2 {
			if v, err := strconv.ParseFloat(fields[i], 64); err == nil {
				all[fields[i+1]] = append(all[fields[i+1]], v)
			}
		}
	}
	return all
}
