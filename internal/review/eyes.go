package review

import (
	"context"
	"sync"
	"time"

	"pushcue/internal/job"
	"pushcue/timeline/words"
)

// eyes look through the recording's pictures in the background, anew when what they
// are to look for has changed.
type eyes struct {
	asked chan struct{}

	mu  sync.Mutex
	end context.CancelFunc // of the look that is under way; nil without one
}

// again has them look anew.
func (e *eyes) again() {
	e.rest()
	select {
	case e.asked <- struct{}{}:
	default: // asked for already
	}
}

// rest ends the look that is under way.
func (e *eyes) rest() {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.end != nil {
		e.end()
	}
}

// work looks whenever it is asked for.
func (e *eyes) work(ctx context.Context, look func(context.Context)) {
	for {
		select {
		case <-e.asked:
		case <-ctx.Done():
			return
		}
		looking, end := context.WithCancel(ctx)
		e.mu.Lock()
		e.end = end
		e.mu.Unlock()
		look(looking)
		e.mu.Lock()
		e.end = nil
		e.mu.Unlock()
		end()
	}
}

// seenBy is what the pictures are looked through for, and the language that their sheet
// speaks.
func seenBy(j *job.Job) any {
	c := j.Sheet.Counter
	return [...]any{c.Look, c.Box, c.Unit, j.Sheet.Distance.Fastest, len(j.Videos), j.Sheet.Job.Language}
}

// readCounter reads the on-screen counter, which takes as long as decoding the
// recording, and places anew by it.
func (t *sitting) readCounter(ctx context.Context) {
	v := t.now.Load()
	if v.placed == nil || v.job.Sheet.Counter.Look == "off" {
		return
	}
	t.counterIs(ctx, counterState{State: "reading"})
	looked, err := t.desk.Look(ctx, v.placed, &counterProgress{t: t})
	if ctx.Err() != nil {
		return
	}
	t.one.Lock()
	defer t.one.Unlock()
	next := *t.now.Load()
	next.counter = counterState{State: "none"}
	if err == nil {
		t.desk.Take(looked)
		_ = t.place(ctx, &next)
		if next.placed != nil && next.placed.HasCounter() {
			next.counter.State = "found"
		}
	}
	t.show(ctx, &next)
}

func (t *sitting) counterIs(ctx context.Context, c counterState) {
	t.one.Lock()
	defer t.one.Unlock()
	v := *t.now.Load()
	v.counter = c
	t.show(ctx, &v)
}

// counterProgress tells the pages how far the counter is read.
type counterProgress struct {
	t     *sitting
	total float64
	said  time.Time
}

func (p *counterProgress) Step(_ words.Sentence, total float64) { p.total = total }
func (p *counterProgress) Say(words.Sentence)                   {}
func (p *counterProgress) Advance(done float64) {
	if p.total <= 0 || time.Since(p.said) < time.Second {
		return
	}
	p.said = time.Now()
	p.t.tell("counter", map[string]any{"state": "reading", "done": done / p.total})
}
