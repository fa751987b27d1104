package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"
)

// A usage is what a command took, its children included; peak is its own
// memory alone, in bytes, 0 where the system doesn't tell.
type usage struct {
	wall, cpu time.Duration
	peak      int64
}

func (u usage) plus(v usage) usage {
	return usage{u.wall + v.wall, u.cpu + v.cpu, max(u.peak, v.peak)}
}

// measure runs a command in a folder. An exit code that ok lists isn't an error.
func measure(ctx context.Context, folder string, ok []int, name string, args ...string) (usage, error) {
	cmd := exec.CommandContext(ctx, name, args...)
	cmd.Dir = folder
	var said bytes.Buffer
	cmd.Stderr = &said
	began := time.Now()
	if err := cmd.Start(); err != nil {
		return usage{}, err
	}
	done, peak := make(chan struct{}), make(chan int64)
	go watch(cmd.Process.Pid, done, peak)
	err := cmd.Wait()
	wall := time.Since(began)
	close(done)
	u := usage{wall, cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime(), <-peak}
	if err != nil && !slices.Contains(ok, cmd.ProcessState.ExitCode()) {
		return u, fmt.Errorf("%s %q: %w: %s", name, args, err, said.String())
	}
	return u, nil
}

// watch asks Linux for the most memory that a process has held, until done.
func watch(pid int, done <-chan struct{}, peak chan<- int64) {
	tick := time.NewTicker(50 * time.Millisecond)
	defer tick.Stop()
	most := int64(0)
	for {
		status, _ := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
		for _, line := range strings.Split(string(status), "\n") {
			if rest, found := strings.CutPrefix(line, "VmHWM:"); found {
				kb, _ := strconv.ParseInt(strings.Fields(rest)[0], 10, 64)
				most = max(most, kb<<10)
			}
		}
		select {
		case <-done:
			peak <- most
			return
		case <-tick.C:
		}
	}
}

// together runs several calls of one command at the same time.
func together(ctx context.Context, folder, name string, calls [][]string) (usage, error) {
	took, errs := make([]usage, len(calls)), make([]error, len(calls))
	var wait sync.WaitGroup
	began := time.Now()
	for i, args := range calls {
		wait.Go(func() { took[i], errs[i] = measure(ctx, folder, nil, name, args...) })
	}
	wait.Wait()
	all := usage{wall: time.Since(began)}
	for _, u := range took {
		all.cpu += u.cpu
		all.peak = max(all.peak, u.peak)
	}
	return all, errors.Join(errs...)
}

// inTurn runs ours and theirs in so many rounds and hands over what each round took.
func inTurn(rounds int, ours, theirs func() (usage, error)) (mine, bare []usage, err error) {
	for range rounds {
		u, err := ours()
		if err != nil {
			return nil, nil, err
		}
		v, err := theirs()
		if err != nil {
			return nil, nil, err
		}
		mine, bare = append(mine, u), append(bare, v)
	}
	return mine, bare, nil
}

// ratios are the medians of the rounds' ratios.
func ratios(mine, bare []usage) (wall, cpu float64) {
	var walls, cpus []float64
	for i := range mine {
		walls = append(walls, mine[i].wall.Seconds()/bare[i].wall.Seconds())
		cpus = append(cpus, mine[i].cpu.Seconds()/bare[i].cpu.Seconds())
	}
	return median(walls), median(cpus)
}

func median(v []float64) float64 {
	v = slices.Sorted(slices.Values(v))
	if n := len(v); n%2 == 0 {
		return (v[n/2-1] + v[n/2]) / 2
	}
	return v[len(v)/2]
}

func peak(all []usage) float64 {
	most := int64(0)
	for _, u := range all {
		most = max(most, u.peak)
	}
	return float64(most) / (1 << 20)
}

func walls(all []usage) float64 {
	var v []float64
	for _, u := range all {
		v = append(v, u.wall.Seconds())
	}
	return median(v)
}

// against says how long both took.
func against(mine, bare []usage) string {
	return fmt.Sprintf("%.1f s against %.1f s", walls(mine), walls(bare))
}
