package frames

import (
	"context"
	"sync"

	"pushcue/internal/ffmpeg"
)

// Fetch takes stills by seeking, two at a time, for runs that burn nothing. yield is
// called for one still at a time, in no fixed order. dir is where pictures may wait.
// ErrCount says that the recording is damaged in its middle.
func Fetch(ctx context.Context, tools *ffmpeg.Tools, r *Recording, wants []Want, dir string, yield func(Still) error) error {
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	var one sync.Mutex
	inTurn := func(s Still) error {
		one.Lock()
		defer one.Unlock()
		return yield(s)
	}
	trips := make(chan *trip)
	var wait sync.WaitGroup
	for range r.atOnce() {
		wait.Go(func() {
			for t := range trips {
				if err := t.run(ctx, tools, dir, inTurn); err != nil {
					stop(err)
					return
				}
			}
		})
	}
	for _, t := range r.trips(wants) {
		select {
		case trips <- t:
		case <-ctx.Done():
		}
	}
	close(trips)
	wait.Wait()
	return context.Cause(ctx)
}

// atOnce is how many trips run at a time: pictures of 4K are held one by one.
func (r *Recording) atOnce() int {
	const large = 4 << 20
	if r.Width*r.Height > large {
		return 1
	}
	return 2
}
