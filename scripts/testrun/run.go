package main

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"
)

// A run is what is known about one call so far.
type run struct {
	temp   *tempFolder
	system string // GOOS of this machine
	began  time.Time

	mu       sync.Mutex
	cpu      map[string]time.Duration // by kind of step
	failures []failure
	skipped  []string
	costs    []cost
	counts   struct{ passed, failed, skipped int }
}

// A failure is a step or a package that failed, and what it printed.
type failure struct{ name, output string }

// A cost is what the tests of one package took.
type cost struct {
	name      string
	wall, cpu time.Duration
}

func newRun() (*run, error) {
	root, err := os.Getwd()
	if err != nil {
		return nil, err
	}
	temp, err := newTempFolder(root)
	if err != nil {
		return nil, err
	}
	return &run{temp: temp, system: runtime.GOOS, began: time.Now(), cpu: map[string]time.Duration{}}, nil
}

// say prints a line as soon as there is something to say.
func (r *run) say(format string, args ...any) {
	r.mu.Lock()
	defer r.mu.Unlock()
	fmt.Printf(format+"\n", args...)
}

// fail notes a failure and prints it.
func (r *run) fail(name, output string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.failures = append(r.failures, failure{name, output})
	fmt.Printf("FAILED: %s\n%s\n", name, strings.TrimRight(output, "\n"))
}

// command prepares a program in a process group of its own. The whole group is killed when
// ctx is done.
func (r *run) command(ctx context.Context, program string, args ...string) *exec.Cmd {
	c := exec.CommandContext(ctx, program, args...)
	c.Env = append(os.Environ(), "GOTMPDIR="+r.temp.shared)
	ownGroup(c)
	c.Cancel = func() error { return killGroup(c) }
	c.WaitDelay = time.Minute // for what left the group and holds the output open
	return c
}

// spend adds the CPU time of an ended command, and of all that it started, to a kind of step.
func (r *run) spend(kind string, c *exec.Cmd) time.Duration {
	killGroup(c) // what it left running
	spent := c.ProcessState.UserTime() + c.ProcessState.SystemTime()
	r.mu.Lock()
	defer r.mu.Unlock()
	r.cpu[kind] += spent
	return spent
}

// step runs a command for a system ("" for this one) and reports how it ended.
func (r *run) step(ctx context.Context, kind, system, program string, args ...string) (output string, ok bool) {
	name := kind
	if system != "" {
		name += " for " + system
	}
	c := r.command(ctx, program, args...)
	if system != "" {
		c.Env = append(c.Env, "GOOS="+system)
	}
	began := time.Now()
	out, err := c.CombinedOutput()
	if ctx.Err() != nil {
		return "", false
	}
	if c.ProcessState == nil {
		r.fail(name, err.Error())
		return "", false
	}
	spent := r.spend(kind, c)
	if err != nil {
		r.fail(name, string(out)+err.Error())
		return "", false
	}
	r.say("%s\t%.1fs\tcpu %.1fs", name, time.Since(began).Seconds(), spent.Seconds())
	return string(out), true
}

// build builds the program for a system, "" for this one. Packages that it doesn't use are
// checked by vet, which reads every package's types.
func (r *run) build(ctx context.Context, system string) {
	r.step(ctx, "build", system, "go", "build", "-ldflags=-s -w", "-o", filepath.Join(r.temp.own, "built"+system), "./cmd/pushcue")
}

func (r *run) format(ctx context.Context) {
	out, ok := r.step(ctx, "format", "", "gofmt", "-l", "cmd", "frames", "internal", "overlay", "scripts", "subtitles", "timeline")
	if ok && len(bytes.TrimSpace([]byte(out))) > 0 {
		r.fail("format", "not formatted as gofmt does:\n"+out)
	}
}

// report prints what a reader needs to see last, and returns the exit code.
func (r *run) report(p plan) int {
	r.mu.Lock()
	defer r.mu.Unlock()
	if p.table {
		printTable(r.costs)
	}
	if len(r.skipped) > 0 {
		slices.Sort(r.skipped)
		fmt.Printf("\nskipped:\n  %s\n", strings.Join(r.skipped, "\n  "))
	}
	for _, f := range r.failures {
		fmt.Printf("\nFAILED: %s\n%s\n", f.name, strings.TrimRight(f.output, "\n"))
	}
	var total time.Duration
	var parts []string
	for _, kind := range []string{"test", "link", "format", "vet", "build", "fuzz"} {
		if spent := r.cpu[kind]; spent > 0 {
			total += spent
			parts = append(parts, fmt.Sprintf("%s %.0f", kind, spent.Seconds()))
		}
	}
	fmt.Printf("\ncpu %.0f s (%s), wall %.0f s\n", total.Seconds(), strings.Join(parts, ", "), time.Since(r.began).Seconds())
	fmt.Printf("tests: %d passed, %d failed, %d skipped\n", r.counts.passed, r.counts.failed, r.counts.skipped)
	if len(r.failures) == 0 {
		return 0
	}
	var names []string
	for _, f := range r.failures {
		names = append(names, f.name)
	}
	fmt.Println("FAILED:", strings.Join(names, ", "))
	return 1
}

// printTable prints the costs as a Markdown table, the highest CPU time first.
func printTable(costs []cost) {
	slices.SortFunc(costs, func(a, b cost) int { return cmp.Or(cmp.Compare(b.cpu, a.cpu), cmp.Compare(a.name, b.name)) })
	fmt.Print("\n| package | CPU s | wall s |\n|---|---|---|\n")
	var cpu time.Duration
	for _, c := range costs {
		fmt.Printf("| `%s` | %.1f | %.1f |\n", c.name, c.cpu.Seconds(), c.wall.Seconds())
		cpu += c.cpu
	}
	fmt.Printf("| all | %.1f | |\n", cpu.Seconds())
}
