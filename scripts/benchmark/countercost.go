package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"

	"pushcue/internal/counterset"
	"pushcue/internal/ffmpeg"
)

// counterCostRow: reading the counter against one plain decode, and its memory on 2 h.
func counterCostRow(ctx context.Context, b *bench) ([]result, error) {
	recording, err := b.drain(ctx, b.minutes)
	if err != nil {
		return nil, err
	}
	mine, bare, err := inTurn(b.rounds,
		func() (usage, error) { return b.readCounter(ctx, recording) },
		func() (usage, error) {
			return measure(ctx, b.work, nil, "ffmpeg", "-nostdin", "-v", "error", "-i", recording, "-map", "0:v", "-f", "null", "-")
		})
	if err != nil {
		return nil, err
	}
	long, err := b.longCounter(ctx)
	if err != nil {
		return nil, err
	}
	hours, err := b.readCounter(ctx, long)
	if err != nil {
		return nil, err
	}
	wall, cpu := ratios(mine, bare)
	return []result{
		{what: "counter read, processor time by one decode's", value: cpu, limit: 1.3, detail: fmt.Sprintf("%.0f s against %.0f s", walls(mine), walls(bare))},
		{what: "counter read, wall time by one decode's", value: wall, limit: 1.3},
		{what: "counter read of 2 h, own memory", value: float64(hours.peak) / (1 << 20), unit: "MiB", limit: 300},
	}, nil
}

// readCounter reads in a process of its own, so that its time and memory can be told.
func (b *bench) readCounter(ctx context.Context, recording string) (usage, error) {
	self, err := os.Executable()
	if err != nil {
		return usage{}, err
	}
	return measure(ctx, b.work, nil, self, "-work", b.work, "-read", recording)
}

// readOnly is what such a process does.
func (b *bench) readOnly(ctx context.Context, recording string) error {
	tools, err := ffmpeg.Find(ctx, ffmpeg.Where{Cache: ffmpeg.UserCache()})
	if err != nil {
		return err
	}
	found, _, err := b.look(ctx, tools, recording)
	if err == nil && found.Counter == nil {
		err = fmt.Errorf("no counter found in %s", recording)
	}
	return err
}

// longCounter is 2 h of one recording of the set.
func (b *bench) longCounter(ctx context.Context) (string, error) {
	path := filepath.Join(b.work, "counter-2h.mp4")
	if _, err := os.Stat(path); err == nil {
		return path, nil
	}
	set, err := counterset.Make(ctx, filepath.Join(b.work, "counterset"))
	if err != nil {
		return "", err
	}
	return path, repeat(ctx, set[0].Path, path, 7200, 7200/counterset.Length)
}
