package main

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
)

// rowsAMinute is how many observations a log has: 20 in 10 minutes.
const rowsAMinute = 2

// makeRow: the full make of a recording with 20 observations, against the two
// burns alone.
func makeRow(ctx context.Context, b *bench) ([]result, error) {
	recording, err := b.drain(ctx, b.minutes)
	if err != nil {
		return nil, err
	}
	job, err := b.job("make", recording, b.minutes*60, rowsAMinute*b.minutes)
	if err != nil {
		return nil, err
	}
	burns, err := b.burns(ctx, job, recording)
	if err != nil {
		return nil, err
	}
	mine, bare, err := inTurn(max(1, b.rounds/2),
		func() (usage, error) { return b.ours(ctx, job, "make") },
		func() (usage, error) { return burns.both(ctx) })
	if err != nil {
		return nil, err
	}
	alike, size, err := quality(ctx, job, recording, burns.picture)
	if err != nil {
		return nil, err
	}
	wall, cpu := ratios(mine, bare)
	return []result{
		{what: "make, processor time by both burns'", value: cpu, limit: 1, detail: against(mine, bare)},
		{what: "make, wall time by both burns'", value: wall, limit: 1},
		{what: "make, own memory", value: peak(mine), unit: "MiB", limit: 100},
		{what: "captioned video, mean SSIM of the picture", value: alike, limit: 0.96, least: true},
		{what: "captioned video, size by the recording's", value: size, limit: 1.5},
	}, nil
}

var allSSIM = regexp.MustCompile(`All:([0-9.]+)`)

// quality compares the captioned video's picture with the recording's.
func quality(ctx context.Context, job, recording, picture string) (ssim, size float64, err error) {
	videos, err := filepath.Glob(filepath.Join(job, "handover", "video", "*.mp4"))
	if err != nil || len(videos) != 1 {
		return 0, 0, fmt.Errorf("no captioned video in %s: %w", job, err)
	}
	out, err := exec.CommandContext(ctx, "ffmpeg", "-nostdin", "-hide_banner", "-i", videos[0], "-i", recording,
		"-lavfi", "[0:v]"+picture+"[a];[a][1:v]ssim", "-f", "null", "-").CombinedOutput()
	if err != nil {
		return 0, 0, fmt.Errorf("%w: %s", err, out)
	}
	found := allSSIM.FindSubmatch(out)
	if found == nil {
		return 0, 0, fmt.Errorf("ffmpeg says no SSIM: %s", out)
	}
	ssim, err = strconv.ParseFloat(string(found[1]), 64)
	if err != nil {
		return 0, 0, err
	}
	video, err := os.Stat(videos[0])
	if err != nil {
		return 0, 0, err
	}
	source, err := os.Stat(recording)
	if err != nil {
		return 0, 0, err
	}
	return ssim, float64(video.Size()) / float64(source.Size()), nil
}

// stillsRow: 20 stills without a burn, against one plain decode.
func stillsRow(ctx context.Context, b *bench) ([]result, error) {
	recording, err := b.drain(ctx, b.minutes)
	if err != nil {
		return nil, err
	}
	job, err := b.job("stills", recording, b.minutes*60, rowsAMinute*b.minutes)
	if err != nil {
		return nil, err
	}
	mine, bare, err := inTurn((b.rounds+1)/2,
		func() (usage, error) { return b.ours(ctx, job, "make", "--skip", "video,clips") },
		func() (usage, error) {
			return measure(ctx, b.work, nil, "ffmpeg", "-nostdin", "-v", "error", "-i", recording, "-map", "0:v", "-f", "null", "-")
		})
	if err != nil {
		return nil, err
	}
	wall, cpu := ratios(mine, bare)
	return []result{
		{what: "stills only, processor time by one decode's", value: cpu, limit: 0.6, detail: against(mine, bare)},
		{what: "stills only, wall time by one decode's", value: wall, limit: 0.6},
		{what: "stills only, own memory", value: peak(mine), unit: "MiB", limit: 100},
	}, nil
}

// checkRow: placing 2,000 rows on 4 h, beyond reading the packets' times.
func checkRow(ctx context.Context, b *bench) ([]result, error) {
	mine, bare, err := b.check(ctx, 4)
	if err != nil {
		return nil, err
	}
	var beyond []float64
	for i := range mine {
		beyond = append(beyond, mine[i].wall.Seconds()-bare[i].wall.Seconds())
	}
	return []result{
		{what: "check of 4 h and 2,000 rows, beyond probing", value: median(beyond), unit: "s", limit: 1,
			detail: against(mine, bare)},
		{what: "check of 4 h and 2,000 rows, own memory", value: peak(mine), unit: "MiB", limit: 100},
	}, nil
}

// growthRow: four times the work by four times the time. Stills grow by their number
// alone: each reads the recording's index anew, 20 ms for an hour of it.
func growthRow(ctx context.Context, b *bench) ([]result, error) {
	short, _, err := b.check(ctx, 1)
	if err != nil {
		return nil, err
	}
	long, _, err := b.check(ctx, 4)
	if err != nil {
		return nil, err
	}
	few, err := b.smallStills(ctx, 25)
	if err != nil {
		return nil, err
	}
	many, err := b.smallStills(ctx, 100)
	if err != nil {
		return nil, err
	}
	const most = 1.1
	return []result{
		{what: "check of 4 h by four times that of 1 h", value: growth(short, long), limit: most},
		{what: "100 stills out of 1 h by four times 25", value: growth(few, many), limit: most},
	}, nil
}

func growth(short, long []usage) float64 {
	var growths []float64
	for i := range short {
		growths = append(growths, long[i].cpu.Seconds()/short[i].cpu.Seconds()/4)
	}
	return median(growths)
}

// smallStills: everything but the burns, of an hour of small pictures.
func (b *bench) smallStills(ctx context.Context, observations int) (took []usage, err error) {
	recording, err := b.numbered(ctx, 1)
	if err != nil {
		return nil, err
	}
	job, err := b.job(fmt.Sprintf("stills-%d", observations), recording, 3600, observations)
	if err != nil {
		return nil, err
	}
	for range b.rounds {
		u, err := b.ours(ctx, job, "make", "--skip", "video,clips")
		if err != nil {
			return nil, err
		}
		took = append(took, u)
	}
	return took, nil
}

func (b *bench) check(ctx context.Context, hours int) (mine, bare []usage, err error) {
	recording, err := b.numbered(ctx, hours)
	if err != nil {
		return nil, nil, err
	}
	job, err := b.job(fmt.Sprintf("check-%dh", hours), recording, hours*3600, hours*500)
	if err != nil {
		return nil, nil, err
	}
	return inTurn(b.rounds,
		func() (usage, error) { return b.ours(ctx, job, "check", "--quick") }, // reading the counter is measured by itself
		func() (usage, error) {
			return measure(ctx, b.work, nil, "ffprobe", "-v", "error", "-select_streams", "v:0",
				"-show_entries", "packet=pts,dts,duration,flags", "-of", "csv=p=0", recording)
		})
}
