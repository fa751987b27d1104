package review

import (
	"context"
	"crypto/rand"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"

	"pushcue/internal/handover"
	"pushcue/internal/handover/drive"
	"pushcue/internal/job"
	"pushcue/timeline/words"
)

// task is a make or a copy: one at a time.
type task struct {
	ID     string     `json:"id"`
	Kind   string     `json:"kind"`
	For    string     `json:"for"`   // whose handover it is: "" the customer's, "buyer"
	State  string     `json:"state"` // running, done, failed, stopped
	Step   string     `json:"step"`
	Done   *float64   `json:"done"`
	Left   *float64   `json:"left_s"`
	Said   []string   `json:"said"`
	Error  *complaint `json:"error"`
	Result any        `json:"result"`
}

// tasks holds the one that runs, or ran last.
type tasks struct {
	mu   sync.Mutex
	last *task
	end  context.CancelFunc
	wait sync.WaitGroup
}

func (ts *tasks) now() *task {
	ts.mu.Lock()
	defer ts.mu.Unlock()
	if ts.last == nil {
		return nil
	}
	t := *ts.last
	t.Said = slices.Clone(t.Said)
	return &t
}

// stop ends the one that runs, and waits for it.
func (ts *tasks) stop() {
	ts.mu.Lock()
	end := ts.end
	ts.mu.Unlock()
	if end != nil {
		end()
	}
	ts.wait.Wait()
}

// start does work as the task of that kind, unless one is running.
func (s *Server) start(ctx context.Context, o *opened, kind, reader string, work func(context.Context, *running) (any, error)) (*task, error) {
	o.task.mu.Lock()
	defer o.task.mu.Unlock()
	if o.task.last != nil && o.task.last.State == "running" {
		return nil, rejected(http.StatusConflict, words.Tell("something is being made or copied already"), words.Tell("wait until it is done, or stop it"))
	}
	t := &task{ID: rand.Text()[:12], Kind: kind, For: reader, State: "running", Said: []string{}}
	o.task.last = t
	o.task.wait.Add(1)
	begun := s.background(ctx, func(ctx context.Context) {
		defer o.task.wait.Done()
		defer s.vacancy.enter()()
		ctx, stop := o.until(ctx)
		defer stop()
		o.task.mu.Lock()
		o.task.end = stop
		o.task.mu.Unlock()
		r := &running{server: s, tasks: &o.task, task: t, speaks: o.speaks()}
		result, err := work(ctx, r)
		r.ended(ctx, result, err)
	})
	if !begun {
		o.task.wait.Done()
		return nil, ctx.Err()
	}
	now := *t
	return &now, nil
}

// running tells the pages how a task goes on. It is a handover.Progress.
type running struct {
	server *Server
	tasks  *tasks
	task   *task
	total  float64
	speaks *words.Language
	begun  time.Time
	told   time.Time
}

func (r *running) change(now bool, f func(*task)) {
	r.tasks.mu.Lock()
	f(r.task)
	t := *r.task
	t.Said = slices.Clone(t.Said)
	r.tasks.mu.Unlock()
	if now || time.Since(r.told) > 300*time.Millisecond {
		r.told = time.Now()
		r.server.events.tell("task", t)
	}
}

// Step begins a step.
func (r *running) Step(name words.Sentence, total float64) {
	r.total, r.begun = total, time.Now()
	r.change(true, func(t *task) { t.Step, t.Done, t.Left = r.speaks.Put(name), nil, nil })
}

// Advance says how far the step has come.
func (r *running) Advance(done float64) {
	if r.total <= 0 {
		return
	}
	share := min(done/r.total, 1)
	r.change(false, func(t *task) {
		t.Done = &share
		if spent := time.Since(r.begun).Seconds(); share > 0.01 && spent > 2 {
			left := spent * (1 - share) / share
			t.Left = &left
		}
	})
}

// Say passes on one sentence.
func (r *running) Say(sentence words.Sentence) {
	const most = 200
	r.change(true, func(t *task) {
		if len(t.Said) < most {
			t.Said = append(t.Said, r.speaks.Put(sentence))
		}
	})
}

func (r *running) ended(ctx context.Context, result any, err error) {
	r.change(true, func(t *task) {
		switch {
		case err == nil:
			t.State, t.Result = "done", result
		case ctx.Err() != nil:
			t.State = "stopped"
		default:
			_, c := understand(err, r.speaks)
			t.State, t.Error = "failed", &c
		}
		t.Left = nil
	})
	for _, one := range r.server.sittings() {
		one.one.Lock()
		v := *one.now.Load()
		one.show(context.WithoutCancel(ctx), &v)
		one.one.Unlock()
	}
}

func (s *Server) sittings() []*sitting {
	if o := s.now(); o != nil {
		return o.sittings
	}
	return nil
}

// makeOrder is what a page asks to be made.
type makeOrder struct {
	Only  []string `json:"only"`
	Skip  []string `json:"skip"`
	Quick bool     `json:"quick"`
	For   string   `json:"for"`
}

// madeResult is what was made.
type madeResult struct {
	Out       string    `json:"out"`
	Made      []string  `json:"made"`
	Kept      []string  `json:"kept"`
	Removed   []string  `json:"removed"`
	LeftAlone []string  `json:"left_alone"`
	Open      bool      `json:"open"`
	Warnings  []warning `json:"warnings"`
}

func (s *Server) make(r *http.Request) (*task, error) {
	var asked makeOrder
	if err := read(r, &asked); err != nil {
		return nil, err
	}
	o, ask, err := s.askFor(asked.For)
	if err != nil {
		return nil, err
	}
	options := handover.Options{Only: asked.Only, Skip: asked.Skip, Quick: asked.Quick, For: asked.For}
	if err := options.Check(); err != nil {
		return nil, err
	}
	return s.start(r.Context(), o, "make", asked.For, func(ctx context.Context, p *running) (any, error) {
		ask.ToAsk = false
		visit, err := job.Open(ctx, ask)
		if err != nil {
			return nil, err
		}
		for _, t := range o.sittings {
			t.eyes.rest() // it looks by itself, and what it sees is kept
			defer t.eyes.again()
		}
		made, err := handover.Make(ctx, o.tools, visit, options, p)
		if err != nil {
			return nil, err
		}
		result := madeResult{Out: made.Out, Made: some(made.Made), Kept: some(made.Kept), Removed: some(made.Removed), LeftAlone: some(made.Foreign), Open: made.Open(), Warnings: []warning{}}
		for _, w := range made.Warnings {
			result.Warnings = append(result.Warnings, warningOf(w, p.speaks))
		}
		return result, nil
	})
}

func some(names []string) []string {
	if names == nil {
		return []string{}
	}
	return names
}

// copiedResult is what a copy came to.
type copiedResult struct {
	To       string   `json:"to"`
	Files    int      `json:"files"`
	Kept     int      `json:"kept"`
	Bytes    int64    `json:"bytes"`
	TooLarge []string `json:"too_large"`
	Foreign  []string `json:"left_alone"`
	SameDisk bool     `json:"same_disk"`
	Device   bool     `json:"read_from_device"` // false: eject it, plug it in again and have it proven
	Eject    bool     `json:"eject"`
	Drive    string   `json:"drive"` // as it was chosen
	Edition  string   `json:"edition"`
}

func (s *Server) copy(r *http.Request) (*task, error) {
	var asked struct {
		Drive string `json:"drive"`
		For   string `json:"for"`
	}
	if err := read(r, &asked); err != nil {
		return nil, err
	}
	o, ask, err := s.askFor(asked.For)
	if err != nil {
		return nil, err
	}
	if strings.TrimSpace(asked.Drive) == "" {
		return nil, rejected(http.StatusUnprocessableEntity, words.Tell("no drive is named"), words.Tell("plug one in, and choose it"))
	}
	to, err := s.ground.onDrive(asked.Drive)
	if err != nil {
		return nil, err
	}
	return s.start(r.Context(), o, "copy", asked.For, func(ctx context.Context, p *running) (any, error) {
		finished, err := handover.Finish(ctx, ask)
		if err != nil {
			return nil, err
		}
		changed, err := handover.Stale(ctx, ask)
		if err != nil {
			return nil, err
		}
		if err := o.unready(finished, changed, asked.For); err != nil {
			return nil, err
		}
		release, err := finished.Hold()
		if err != nil {
			return nil, err
		}
		defer release()
		cargo, err := drive.Load(ctx, finished.Dir, finished.Name)
		if err != nil {
			return nil, err
		}
		cargo.Own = finished.Own
		var step words.Sentence
		out, err := drive.Copy(ctx, cargo, to, func(d drive.Progress) {
			if !d.Step.Equal(step) {
				step = d.Step
				p.Step(step, float64(d.Total))
			}
			p.Advance(float64(d.Done))
		})
		if err != nil {
			return nil, err
		}
		gone := handover.Destination{To: out.Folder, Label: out.Label, Serial: out.Serial}
		if err := finished.NoteLeft(ask, gone); err != nil {
			p.Say(words.Tell("that the copy left the house couldn't be noted: %v", err))
		}
		return copiedResult{To: out.Folder, Files: out.Copied + out.Kept, Kept: out.Kept, Bytes: out.Bytes, TooLarge: some(out.TooLarge), Foreign: some(out.Foreign),
			SameDisk: out.SameDisk, Device: out.Dropped, Eject: !out.SameDisk, Drive: to, Edition: editionOf(finished)}, nil
	})
}
