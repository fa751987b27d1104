// Command benchmark measures pushcue against bare tools doing the costly part of
// the same work, on the same computer in the same minutes: interleaved rounds, a
// ratio for each round, the median of the ratios. What decodes the whole recording
// takes so long that it gets half of the rounds. All rows of 10 min in 5 rounds take
// about 35 min on an idle computer with 2 cores.
//
//	scripts/bench                            all rows, 10 min of 1280x720 at 30
//	scripts/bench -minutes 1 -rounds 3 make  one row, quicker
//	scripts/bench -drawn 24 -seed 7 counter  looks drawn by chance in place of the set
//	scripts/bench placing                    how well rows are placed: 6,000 made-up jobs
//
// Wall time is noisy on a busy computer; processor time much less so. A number
// taken on one computer says little about another: only the ratios are meant.
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"path/filepath"
	"slices"
)

// A row is one thing to measure. More are added to rows.
type row struct {
	name string
	run  func(context.Context, *bench) ([]result, error)
}

var rows = []row{
	{"make", makeRow},
	{"stills", stillsRow},
	{"check", checkRow},
	{"growth", growthRow},
	{"verify", verifyRow},
	{"copy", copyRow},
	{"page", pageRow},
	{"counter", counterRow},
	{"countercost", counterCostRow},
	{"review", reviewRow},
	{"placing", placingRow},
}

// A bench is what all rows share.
type bench struct {
	pushcue string
	work    string
	minutes int
	rounds  int

	drawn int    // recordings drawn by chance
	seed  uint64 // for drawing them
	jobs  int    // drawn for placing
}

// A result is one line of the table.
type result struct {
	what   string
	value  float64
	unit   string
	limit  float64 // at most, or at least where least is set; 0 for none
	least  bool
	detail string
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := run(ctx); err != nil {
		fmt.Fprintln(os.Stderr, "bench:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context) error {
	b := &bench{}
	flag.StringVar(&b.pushcue, "pushcue", "build/pushcue", "program to measure")
	flag.StringVar(&b.work, "work", "build/bench", "folder for footage and jobs; footage is kept")
	flag.IntVar(&b.minutes, "minutes", 10, "length of the recording")
	flag.IntVar(&b.rounds, "rounds", 3, "rounds")
	flag.IntVar(&b.drawn, "drawn", 0, "counter: in place of the set, so many recordings whose looks are drawn by chance")
	flag.Uint64Var(&b.seed, "seed", 1, "counter, placing: chance begins here")
	flag.IntVar(&b.jobs, "jobs", 6000, "placing: jobs drawn by chance")
	read := flag.String("read", "", "only read this recording's counter: what countercost measures")
	flag.Parse()
	for _, path := range []*string{&b.pushcue, &b.work} {
		full, err := filepath.Abs(*path)
		if err != nil {
			return err
		}
		*path = full
	}
	if *read != "" {
		return b.readOnly(ctx, *read)
	}
	wanted := flag.Args()
	for _, name := range wanted {
		if !slices.ContainsFunc(rows, func(r row) bool { return r.name == name }) {
			return fmt.Errorf("no row %q", name)
		}
	}
	fmt.Printf("%-46s %10s %10s\n", "what", "measured", "allowed")
	missed := 0
	for _, r := range rows {
		if len(wanted) > 0 && !slices.Contains(wanted, r.name) {
			continue
		}
		results, err := r.run(ctx, b)
		if err != nil {
			return fmt.Errorf("%s: %w", r.name, err)
		}
		for _, result := range results {
			missed += result.print()
		}
	}
	if missed > 0 {
		return fmt.Errorf("%d beyond what is allowed", missed)
	}
	return nil
}

// print writes the line and returns 1 where it is beyond what is allowed.
func (r result) print() int {
	allowed, missed := "", 0
	if r.limit > 0 {
		sign := "<="
		if r.least {
			sign = ">="
		}
		allowed = fmt.Sprintf("%s %.2f", sign, r.limit)
		if r.least && r.value < r.limit || !r.least && r.value > r.limit {
			allowed += " !"
			missed = 1
		}
	}
	fmt.Printf("%-46s %7.2f %-2s %10s  %s\n", r.what, r.value, r.unit, allowed, r.detail)
	return missed
}
