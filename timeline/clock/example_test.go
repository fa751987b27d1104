package clock_test

import (
	"fmt"
	"time"

	"pushcue/timeline/clock"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

func ExampleTie() {
	midnight := timecode.LogAt(time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC))
	half := 500 * time.Millisecond // the log is written to the second
	anchor := func(name string, log time.Duration, video float64) clock.Anchor {
		return clock.Anchor{Name: words.Plain("%s", name), Log: midnight.Add(log + half), LogHalf: half,
			Video: timecode.VideoSeconds(video), VideoHalf: 50 * time.Millisecond}
	}
	fit, err := clock.Tie(
		[]clock.Span{{Start: 0, End: timecode.VideoSeconds(2400), Name: "part1.mp4"}},
		[]clock.Anchor{
			anchor("anchor 1 (row 3)", 10*time.Hour+7*time.Minute+31*time.Second, 314.2),
			anchor("anchor 2 (row 9)", 10*time.Hour+38*time.Minute+2*time.Second, 2145.3),
		},
		clock.Options{Zone: time.UTC})
	if err != nil {
		fmt.Println(err)
		return
	}
	at, uncertainty, ok, _ := fit.Video(midnight.Add(10*time.Hour+20*time.Minute+half), half)
	fmt.Println(at, uncertainty.Round(100*time.Millisecond), ok)
	_, _, ok, cause := fit.Video(midnight.Add(9*time.Hour), half)
	fmt.Println(ok, cause)
	// Output:
	// 17:43.2 700ms true
	// false 09:00:00 is 1 h 2 min before the recording starts
}
