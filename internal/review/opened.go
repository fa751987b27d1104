package review

import (
	"context"
	"net/http"
	"strconv"
	"sync"
	"time"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/job"
	"pushcue/internal/placing"
	"pushcue/timeline/words"
)

// opened is the visit that is looked over.
type opened struct {
	visit    *job.Visit
	ask      job.Ask
	tools    *ffmpeg.Tools
	sittings []*sitting
	release  func()        // of the lock that keeps a second program away
	forget   func()        // removes the note that this program serves the page
	gone     chan struct{} // closed when another visit, or none, is looked over
	task     tasks
	steps    steps
	once     sync.Once
}

// open looks over a visit from now on.
func (s *Server) open(ctx context.Context, v *job.Visit, a job.Ask) error {
	tools, err := s.o.Tools(ctx, v)
	if err != nil {
		return err
	}
	release, err := placing.Hold(v)
	if err != nil {
		return err
	}
	o := &opened{visit: v, ask: a, tools: tools, release: release, forget: s.note(v.Dir), gone: make(chan struct{})}
	for i, job := range v.Jobs {
		o.sittings = append(o.sittings, newSitting(s, o, i, job))
	}
	s.mu.Lock()
	before := s.opened
	s.opened = o
	s.mu.Unlock()
	if before != nil {
		before.close()
	}
	s.remember(v.Dir)
	for _, one := range o.sittings {
		one.wait.Add(1)
		if !s.background(ctx, one.live) {
			one.wait.Done()
		}
	}
	return nil
}

// close ends what goes on in the background for it.
func (o *opened) close() {
	o.once.Do(func() {
		close(o.gone)
		o.task.stop()
		for _, one := range o.sittings {
			one.wait.Wait()
		}
		o.forget()
		o.release()
	})
}

// until ends a context when the visit isn't looked over any more.
func (o *opened) until(ctx context.Context) (context.Context, context.CancelFunc) {
	ctx, stop := context.WithCancel(ctx)
	go func() {
		select {
		case <-o.gone:
			stop()
		case <-ctx.Done():
		}
	}()
	return ctx, stop
}

func (s *Server) now() *opened {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.opened
}

// sitting is the job that a request is about.
func (s *Server) sitting(r *http.Request) (*sitting, error) {
	o := s.now()
	if o == nil {
		return nil, rejected(http.StatusNotFound, words.Tell("no job is open"), words.Tell("choose one on the start page"))
	}
	n := 0
	if text := r.URL.Query().Get("job"); text != "" {
		var err error
		if n, err = strconv.Atoi(text); err != nil {
			n = -1
		}
	}
	if n < 0 || n >= len(o.sittings) {
		return nil, rejected(http.StatusNotFound, words.Tell("the visit has no such job"), words.Tell("choose another one"))
	}
	return o.sittings[n], nil
}

// every calls f again and again until ctx ends.
func every(ctx context.Context, pause time.Duration, f func()) {
	tick := time.NewTicker(pause)
	defer tick.Stop()
	for {
		select {
		case <-tick.C:
			f()
		case <-ctx.Done():
			return
		}
	}
}
