package main

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"strings"
	"time"
)

// An event is a line of go test -json (go doc test2json, go help buildjson).
type event struct {
	Action      string
	Package     string
	Test        string
	Output      string
	Elapsed     float64
	ImportPath  string
	FailedBuild string
}

// printed keeps what the tests of one package printed, until it is known whether it matters.
type printed struct {
	order  []string // names of tests, "" for the package itself
	byTest map[string]*strings.Builder
	failed bool // one of the tests failed, and is counted
}

func (p *printed) add(test, text string) {
	for _, noise := range []string{"=== RUN ", "=== PAUSE ", "=== CONT ", "=== NAME "} {
		if strings.HasPrefix(text, noise) {
			return
		}
	}
	if p.byTest == nil {
		p.byTest = map[string]*strings.Builder{}
	}
	if p.byTest[test] == nil {
		p.byTest[test] = &strings.Builder{}
		p.order = append(p.order, test)
	}
	p.byTest[test].WriteString(text)
}

// of returns what a test printed.
func (p *printed) of(test string) string {
	if p.byTest[test] == nil {
		return ""
	}
	return p.byTest[test].String()
}

func (p *printed) all() string {
	var all strings.Builder
	for _, test := range p.order {
		all.WriteString(p.of(test))
	}
	return all.String()
}

// forget drops what a test printed that passed.
func (p *printed) forget(test string) { delete(p.byTest, test) }

// tests runs the tests of p's packages.
func (r *run) tests(ctx context.Context, p plan) {
	self, err := os.Executable()
	if err != nil {
		r.fail("tests", err.Error())
		return
	}
	// The time limit is for a test that hangs.
	args := []string{"test", "-json", "-vet=off", "-timeout", "60m", "-exec", fmt.Sprintf("'%s' %s %v", self, wrapperFlag, p.fuzz)}
	if p.fresh {
		args = append(args, "-count=1")
	}
	c := r.command(ctx, "go", append(args, p.packages...)...)
	c.Env = append(c.Env, runFolder+"="+r.temp.own)
	if p.short {
		c.Env = append(c.Env, "PUSHCUE_TEST_SHORT=1")
	}
	c.Stderr = os.Stderr
	out, err := c.StdoutPipe()
	if err == nil {
		err = c.Start()
	}
	if err != nil {
		r.fail("tests", err.Error())
		return
	}
	follow := newFollower(r)
	lines := bufio.NewScanner(out)
	lines.Buffer(nil, 64<<20)
	for lines.Scan() {
		var e event
		if json.Unmarshal(lines.Bytes(), &e) != nil {
			r.say("%s", lines.Text())
			continue
		}
		follow.take(e)
	}
	err = c.Wait()
	r.spend("link", c)
	r.mu.Lock()
	r.cpu["link"] -= r.cpu["test"] + r.cpu["fuzz"] // they are in what go test took
	r.mu.Unlock()
	if err == nil {
		err = lines.Err()
	}
	if err != nil && !follow.failed && ctx.Err() == nil {
		r.fail("tests", "go test: "+err.Error())
	}
}

// A follower turns events into reports.
type follower struct {
	run      *run
	packages map[string]*printed
	builds   map[string]*strings.Builder // what the compiler printed, by import path
	failed   bool
}

func newFollower(r *run) *follower {
	return &follower{run: r, packages: map[string]*printed{}, builds: map[string]*strings.Builder{}}
}

func (f *follower) take(e event) {
	switch {
	case e.Action == "build-output":
		if f.builds[e.ImportPath] == nil {
			f.builds[e.ImportPath] = &strings.Builder{}
		}
		f.builds[e.ImportPath].WriteString(e.Output)
		return
	case e.Package == "":
		return
	}
	p := f.packages[e.Package]
	if p == nil {
		p = &printed{}
		f.packages[e.Package] = p
	}
	switch {
	case e.Action == "output":
		p.add(e.Test, e.Output)
	case e.Test != "":
		f.endOfTest(e, p)
	default:
		f.endOfPackage(e, p)
	}
}

func (f *follower) endOfTest(e event, p *printed) {
	counts := &f.run.counts
	switch e.Action {
	case "pass":
		counts.passed++
		p.forget(e.Test)
	case "skip":
		counts.skipped++
		f.run.skipped = append(f.run.skipped, fmt.Sprintf("%s %s: %s", e.Package, e.Test, reason(p.of(e.Test))))
		p.forget(e.Test)
	case "fail":
		counts.failed++
		p.failed = true
	}
}

// reason returns what a skipped test gave as its reason.
func reason(output string) string {
	var said []string
	for _, line := range strings.Split(output, "\n") {
		if line = strings.TrimSpace(line); line != "" && !strings.HasPrefix(line, "--- SKIP") {
			said = append(said, line)
		}
	}
	return strings.Join(said, " ")
}

func (f *follower) endOfPackage(e event, p *printed) {
	r := f.run
	switch e.Action {
	case "pass", "skip":
		last := strings.TrimSpace(p.of(""))
		last = last[strings.LastIndex(last, "\n")+1:]
		if took, known := f.spend(e); known {
			last += fmt.Sprintf("\tcpu %.1fs", took.tests.Seconds())
		}
		r.say("%s", last)
	case "fail":
		f.spend(e)
		f.failed = true
		if !p.failed { // it didn't compile, a fuzz target failed, or something was left behind
			r.counts.failed++
		}
		output := p.all()
		if b := f.builds[e.FailedBuild]; b != nil {
			output = b.String() + output
		}
		r.fail(e.Package, output)
	default:
		return
	}
	delete(f.packages, e.Package)
}

// spend adds up the CPU time of a package's tests. It is known unless the result is from go's cache.
func (f *follower) spend(e event) (took spent, known bool) {
	r := f.run
	if took, known = r.spentBy(e.Package); !known {
		return took, false
	}
	r.costs = append(r.costs, cost{e.Package, time.Duration(e.Elapsed * float64(time.Second)), took.tests})
	r.mu.Lock()
	defer r.mu.Unlock()
	r.cpu["test"] += took.tests
	r.cpu["fuzz"] += took.fuzzing
	return took, true
}
