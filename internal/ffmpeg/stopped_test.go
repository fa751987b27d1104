package ffmpeg

import (
	"context"
	"sync/atomic"
	"testing"

	"pushcue/internal/reach"
	"pushcue/internal/testfootage"
)

// lateStop is a context that ends after it was asked so many times whether it has.
type lateStop struct {
	context.Context
	left *atomic.Int64
}

func (c lateStop) Err() error {
	if c.left.Add(-1) < 0 {
		return context.Canceled
	}
	return nil
}

// A run that is stopped when the last answer is there gives an error and never nothing at all.
func TestAStopAfterTheAnswerIsAnError(t *testing.T) {
	tools := realTools(t)
	path := testfootage.Numbered(t, testfootage.Spec{})
	answered := false
	for asked := range int64(40) {
		left := &atomic.Int64{}
		left.Store(asked)
		media, err := tools.Probe(lateStop{context.Background(), left}, reach.Named(path, "recording"))
		if media == nil && err == nil {
			t.Errorf("stopped after it was asked %d times: neither a recording nor an error", asked)
		}
		answered = answered || media != nil
	}
	if !answered {
		t.Error("no run came to its end, so that none was stopped at it")
	}
}
