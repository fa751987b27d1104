// Command counterscore reads every recording of the set and says how well.
package main

import (
	"context"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"time"

	"pushcue/frames"
	"pushcue/frames/counter"
	"pushcue/internal/counterset"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/handover/onscreen"
	"pushcue/timeline/distance"
)

func main() {
	verbose := flag.Bool("v", false, "")
	never := flag.Bool("never", false, "")
	flag.Parse()
	ctx := context.Background()
	wd, err := os.Getwd()
	check(err)
	set, err := counterset.Make(ctx, filepath.Join(wd, "build", "counterset"))
	check(err)
	tools, err := ffmpeg.Find(ctx, ffmpeg.Where{})
	check(err)
	for _, r := range set {
		if flag.NArg() > 0 && !slices.Contains(flag.Args(), strconv.Itoa(r.Index)) {
			continue
		}
		if flag.NArg() == 0 && r.Tuned() == *never {
			continue
		}
		rec, err := frames.Open(ctx, tools, []string{r.Path}, []string{r.Name}, frames.Options{})
		check(err)
		began := time.Now()
		unit := distance.Metre
		o := onscreen.Options{Dir: os.TempDir()}
		o.Unit = unit
		f, err := onscreen.Read(ctx, tools, rec, o)
		check(err)
		fmt.Printf("%2d %-28s %-5s %5.1fs ", r.Index, r.Name, r.Kind, time.Since(began).Seconds())
		if f.Counter == nil {
			fmt.Printf("no counter")
		} else {
			right, wrong, none := 0, 0, 0
			var first string
			for _, s := range f.Counter.Samples {
				i := rec.FrameAt(s.At).Index
				shown := r.Shown[min(i, len(r.Shown)-1)]
				if s.State != counter.AsShown && s.State != counter.Filled {
					if shown != "" {
						none++
					}
					if *verbose {
						fmt.Printf("\n    %s: ? (%s)", s.At, shown)
					}
					continue
				}
				ok := false
				for k := max(0, i-2); k <= min(i+2, len(r.Shown)-1); k++ {
					if v, err := strconv.ParseFloat(trim(r.Shown[k]), 64); err == nil && math.Abs(v-s.Value) < 1e-6 {
						ok = true
					}
				}
				if ok {
					right++
				} else {
					wrong++
					if first == "" || *verbose {
						first = fmt.Sprintf("%s: %q for %q", s.At, s.Text, shown)
						if *verbose {
							fmt.Printf("\n    %s %.1f", first, s.Margin)
						}
					}
				}
			}
			n := float64(right+wrong+none) / 100
			fmt.Printf("right %5.1f wrong %4.1f none %5.1f  %s", float64(right)/n, float64(wrong)/n, float64(none)/n, first)
		}
		for _, l := range f.Lines {
			fmt.Printf(" [%v %s: %s]", l.Box, l.Kind, l.Why)
		}
		fmt.Println()
	}
}

func trim(s string) string {
	out := ""
	for _, r := range s {
		if r >= '0' && r <= '9' || r == '-' || r == '.' {
			out += string(r)
		} else if r == ',' {
			out += "."
		}
	}
	return out
}

func check(err error) {
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}
