// Command testrun runs what must hold before a change is taken: format, vet and builds for
// three systems, all tests, and a little fuzzing. scripts/test builds and starts it.
//
//	testrun              everything
//	testrun quick        format, vet for this system, and the packages whose tests need only Go
//	testrun cost         everything, with no test result taken from go's cache, and a table
//	                     of what each package's tests cost
//	testrun ./frames...  the tests of these packages
//
// It reports each package when it is done, with the CPU time of its tests and of the
// programs they started, and repeats at the end what failing tests printed.
package main

import (
	"context"
	"fmt"
	"os"
	"os/signal"
	"strings"
	"sync"
	"syscall"
)

// A plan is what one call runs.
type plan struct {
	format   bool
	vet      []string // systems to vet for, as in GOOS
	build    []string // systems to build for
	packages []string // patterns; tests are started in this order
	fuzz     bool     // every fuzz target runs for a moment after its package's tests
	short    bool     // tests that need more than Go are skipped
	fresh    bool     // no test result is taken from go's cache
	table    bool     // the costs of all packages are printed at the end
}

// pure are the packages of which few tests need more than Go.
var pure = []string{"./timeline/...", "./subtitles", "./internal/houserules"}

// longestFirst has the longest tests first, so that none of them ends up running alone.
var longestFirst = []string{"./internal/handover", "./internal/review", "./cmd/pushcue", "./frames", "./overlay", "./internal/handover/...", "./..."}

func planFor(args []string) (plan, error) {
	systems := []string{"linux", "darwin", "windows"}
	all := plan{format: true, vet: systems, build: systems, packages: longestFirst, fuzz: true}
	switch {
	case len(args) == 0:
		return all, nil
	case len(args) == 1 && args[0] == "quick":
		return plan{format: true, vet: []string{""}, packages: pure, short: true}, nil
	case len(args) == 1 && args[0] == "cost":
		all.fresh, all.table = true, true
		return all, nil
	}
	for _, a := range args {
		if !strings.HasPrefix(a, ".") {
			return plan{}, fmt.Errorf("%q is neither quick nor cost nor a package such as ./frames", a)
		}
	}
	return plan{packages: args, fuzz: true}, nil
}

func main() {
	if len(os.Args) > 3 && os.Args[1] == wrapperFlag {
		os.Exit(runWrapped(os.Args[2] == "true", os.Args[3], os.Args[4:]...))
	}
	plan, err := planFor(os.Args[1:])
	if err != nil {
		fmt.Fprintln(os.Stderr, "error:", err)
		fmt.Fprintln(os.Stderr, "hint: scripts/test [quick | cost | PACKAGE…]")
		os.Exit(2)
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	defer stop()
	r, err := newRun()
	if err != nil {
		fmt.Fprintln(os.Stderr, "error:", err)
		os.Exit(1)
	}
	r.do(ctx, plan)
	code := r.report(plan)
	if ctx.Err() != nil {
		fmt.Println("interrupted")
		code = 130
	}
	if err := r.temp.remove(); err != nil {
		fmt.Fprintln(os.Stderr, "error: the temporary folder could not be removed:", err)
		code = max(code, 1)
	}
	os.Exit(code)
}

// do runs a plan. Tests run beside vet and builds; all of these share go's build cache,
// which the build for this system fills first.
func (r *run) do(ctx context.Context, p plan) {
	if p.format {
		r.format(ctx)
	}
	if len(p.build) > 0 {
		r.build(ctx, "")
	}
	var beside sync.WaitGroup
	beside.Go(func() {
		for _, system := range p.vet {
			r.step(ctx, "vet", system, "go", "vet", "./...")
		}
		for _, system := range p.build {
			if system != r.system {
				r.build(ctx, system)
			}
		}
	})
	r.tests(ctx, p)
	beside.Wait()
}
