// Command footage paints recordings of a camera that is pushed down a drain.
//
//	go run ./scripts/footage demo            makes testdata/demo afresh
//	go run ./scripts/footage shoot -o run.mp4 -look "bare dots" -interlaced -size 720x576
//	go run ./scripts/footage looks           lists the ways a counter can be written
//
// shoot writes the truth beside the recording, as run.truth.json. Both need an
// ffmpeg with libx264. The pictures come from the seed alone; how they are
// compressed is ffmpeg's.
package main

import (
	"context"
	"fmt"
	"os"
	"os/signal"

	"pushcue/internal/footage"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := run(ctx, os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "footage:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, args []string) error {
	if len(args) == 0 {
		return fmt.Errorf("say demo, shoot or looks")
	}
	switch args[0] {
	case "demo":
		return demo(ctx, args[1:])
	case "shoot":
		return shoot(ctx, args[1:])
	case "looks":
		for _, l := range footage.Looks {
			fmt.Printf("%-10s %s\n", l.Name, l.Face)
		}
		return nil
	default:
		return fmt.Errorf("no command %q: say demo, shoot or looks", args[0])
	}
}
