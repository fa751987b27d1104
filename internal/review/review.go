// Package review serves the page on which a job is looked over and put right: to
// this computer only, and to nobody who wasn't let in.
//
//	server, err := review.Listen(review.Options{Visit: visit, Tools: tools, Author: "ana"})
//	fmt.Println(server.Invite().Address) // works once, for two minutes
//	err = server.Serve(ctx) // until ctx ends
//
// What a person corrects is appended to the job's edits.jsonl before the page is
// told that it was taken; nothing else in the job folder is written but our own work
// folder and, on demand, the handover. Closing the page or the program at any moment
// loses nothing that was acknowledged.
package review

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"sync"
	"time"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/job"
	"pushcue/internal/review/runs"
	"pushcue/internal/trouble"
	"pushcue/timeline/words"
)

// Options of Listen.
type Options struct {
	Visit    *job.Visit // the job or visit to begin with; nil: the start page
	Ask      job.Ask    // how Visit was asked for, to open it anew when its files change
	Settings string     // folder of the user's settings; "" for none
	Key      string     // as handover.Ask's, for jobs that are chosen on the page
	Author   string     // how corrections are signed
	Port     int        // 0: any that is free

	Running string // folder of the user's in which programs that serve a page are noted; "" for none
	// Vacant is how long the program goes on without an open page and a running task; 0: until
	// it is ended.
	Vacant time.Duration
	// Ready is called once the page can be opened; nil for nothing.
	Ready func()
	// Drives lists the folders that drives stand in, network shares too; nil: as the system tells.
	Drives func() []string

	// Tools finds ffmpeg, never among the files of the visit.
	Tools func(ctx context.Context, v *job.Visit) (*ffmpeg.Tools, error)
	// Show opens a file or a folder with the system's own program.
	Show func(ctx context.Context, target string) error
}

// A Server serves one visit at a time, or the start page.
type Server struct {
	o        Options
	listener net.Listener
	access   *access
	secret   runs.Secret // what another pushcue of this user proves itself by
	ground   ground
	events   *events
	work     chan func(context.Context) // done in the background, until Serve ends
	drives   drives
	vacancy  *vacancy

	mu     sync.Mutex
	opened *opened // nil: the start page
}

// Listen takes a port of this computer. Serve must follow.
func Listen(o Options) (*Server, error) {
	l, err := net.Listen("tcp4", fmt.Sprintf("127.0.0.1:%d", o.Port))
	if err != nil {
		return nil, &trouble.Trouble{Text: words.Tell("port %d can't be used: %v", o.Port, err), Hint: words.Tell("leave --port out, and a free one is taken")}
	}
	if o.Drives == nil {
		o.Drives = shelves
	}
	return &Server{
		o: o, listener: newCrowd(l, mostConnections), access: newAccess(), secret: runs.NewSecret(), ground: newGround(o.Drives),
		events: newEvents(), work: make(chan func(context.Context)),
	}, nil
}

// Address is where the page is. It shows itself to tabs that were let in, and lets in
// those of a browser in which one is open.
func (s *Server) Address() string { return s.origin() + "/" }

func (s *Server) origin() string { return "http://" + s.listener.Addr().String() }

// Serve answers until ctx ends, then lets what is being written finish.
func (s *Server) Serve(ctx context.Context) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	s.vacancy = newVacancy(s.o.Vacant, stop)
	defer s.vacancy.stop()
	idle := s.workers(ctx)
	if s.o.Visit != nil {
		if err := s.open(ctx, s.o.Visit, s.o.Ask); err != nil {
			return errors.Join(err, s.listener.Close())
		}
	}
	defer s.access.end()
	if s.o.Ready != nil {
		s.o.Ready()
	}
	server := &http.Server{
		Handler:           s.guarded(s.routes()),
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       30 * time.Second,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    32 << 10,
		ErrorLog:          silent(),
		BaseContext:       func(net.Listener) context.Context { return ctx },
	}
	ended := make(chan error, 1)
	go func() { ended <- server.Serve(s.listener) }()
	var err error
	select {
	case err = <-ended:
	case <-ctx.Done():
		s.events.close()
		quick, done := context.WithTimeout(context.WithoutCancel(ctx), 2*time.Second)
		defer done()
		if server.Shutdown(quick) != nil {
			_ = server.Close()
		}
		err = <-ended
	}
	stop()
	idle.Wait()
	s.shut()
	if errors.Is(err, http.ErrServerClosed) {
		return nil
	}
	return err
}

// workers do what is asked for in the background. What they have begun is over when
// the group is.
func (s *Server) workers(ctx context.Context) *sync.WaitGroup {
	var group sync.WaitGroup
	group.Go(func() {
		for {
			select {
			case job := <-s.work:
				group.Go(func() { job(ctx) })
			case <-ctx.Done():
				return
			}
		}
	})
	return &group
}

// background does job beside what the pages ask. It reports false when the program ends.
func (s *Server) background(ctx context.Context, job func(context.Context)) bool {
	select {
	case s.work <- job:
		return true
	case <-ctx.Done():
		return false
	}
}

// shut ends what is open, once nobody asks any more.
func (s *Server) shut() {
	s.mu.Lock()
	o := s.opened
	s.opened = nil
	s.mu.Unlock()
	if o != nil {
		o.close()
	}
}
