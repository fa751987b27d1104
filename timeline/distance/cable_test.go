package distance

import (
	"slices"
	"testing"
	"time"
)

func TestHowFarACableReaches(t *testing.T) {
	c := Cable{Fastest: 1.5, Step: 0.1}
	for waited, want := range map[time.Duration]Metres{0: 0.1, 200 * time.Millisecond: 0.4, 2 * time.Second: 3.1} {
		if got := c.Reach(waited); (got - want).Abs() > 1e-9 {
			t.Errorf("in %v it reaches %v, want %v", waited, got, want)
		}
	}
	for _, x := range []struct {
		shown  Metres
		waited time.Duration
		want   bool
	}{
		{0, 0, true}, {0.3, 200 * time.Millisecond, true}, {0.5, 200 * time.Millisecond, false}, {-0.3, 200 * time.Millisecond, true},
		{2.3, time.Minute, true}, {2.4, time.Minute, false}, // however long nothing was read
	} {
		if got := c.AtZero(x.shown, x.waited); got != x.want {
			t.Errorf("%v after %v: %t", x.shown, x.waited, got)
		}
	}
}

func TestTheHeaviestChainOfRuns(t *testing.T) {
	run := func(first, last, weight int) Run { return Run{First: first, Last: last, Weight: weight} }
	// Runs go on from one to the next where their numbers differ by less than five, for a
	// price of three otherwise, and never from or to a run that begins at 90.
	near := func(a, b Run) (int, bool) {
		switch {
		case a.First == 90 || b.First == 90:
			return 0, false
		case b.First-a.Last < 5:
			return 0, true
		}
		return 3, true
	}
	for name, c := range map[string]struct {
		runs []Run
		back int
		want []int
	}{
		"none":                    {nil, 9, nil},
		"one":                     {[]Run{run(0, 1, 2)}, 9, []int{0}},
		"all":                     {[]Run{run(0, 1, 2), run(2, 3, 2), run(4, 5, 2)}, 9, []int{0, 1, 2}},
		"round an impossible one": {[]Run{run(0, 1, 4), run(90, 91, 3), run(2, 3, 4)}, 9, []int{0, 2}},
		"worth its price":         {[]Run{run(0, 1, 4), run(20, 21, 4)}, 9, []int{0, 1}},
		"not worth its price":     {[]Run{run(0, 1, 2), run(20, 21, 4)}, 9, []int{1}},
		"alike: the later":        {[]Run{run(0, 1, 4), run(90, 91, 4)}, 9, []int{1}},
		"too far back":            {[]Run{run(0, 1, 9), run(90, 91, 1), run(90, 92, 1), run(2, 3, 4)}, 2, []int{0}},
	} {
		if got := Heaviest(c.runs, c.back, near); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
}
