// Package crew has several hands at a row of jobs that don't need each other.
//
//	err := crew.Each(ctx, len(files), 2, func(ctx context.Context, i int) error { return read(ctx, files[i]) })
//
// It promises nothing about the order in which jobs are begun or done.
package crew

import (
	"context"
	"sync"
)

// Each calls do for 0 … n-1, at most atOnce of them at a time, and returns when all
// that were begun have returned. The first error, or the end of ctx, stops further
// ones from being begun and is what Each returns.
func Each(ctx context.Context, n, atOnce int, do func(ctx context.Context, i int) error) error {
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	next := make(chan int)
	var wait sync.WaitGroup
	for range min(atOnce, n) {
		wait.Go(func() {
			for i := range next {
				if err := do(ctx, i); err != nil {
					stop(err)
				}
			}
		})
	}
feed:
	for i := range n {
		select {
		case next <- i:
		case <-ctx.Done():
			break feed
		}
	}
	close(next)
	wait.Wait()
	return context.Cause(ctx)
}
