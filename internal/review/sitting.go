package review

import (
	"context"
	"crypto/rand"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"pushcue/frames"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/job"
	"pushcue/internal/placing"
	"pushcue/internal/trouble"
	"pushcue/timeline/edits"
	"pushcue/timeline/fault"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/words"
)

// A sitting is one job being looked over.
type sitting struct {
	server *Server
	opened *opened
	index  int
	stills *stills
	stands *standIns
	wait   sync.WaitGroup // of what goes on in the background
	eyes   eyes
	notes  sync.Mutex   // one copy of a spoken note is made at a time
	unit   atomic.Value // string: of typed lengths without one, once a person has said

	one    sync.Mutex // one change at a time; holds all below but now
	desk   *placing.Desk
	stamps stamps
	now    atomic.Pointer[view]
}

// A view is a sitting as it stands: nothing in it changes any more.
type view struct {
	revision  int64
	job       *job.Job
	recording *frames.Recording // nil while it is being read
	through   bool              // the recording was read through for damage
	film      string            // names the recording; another one once its files have changed
	placed    *placing.Placed   // nil before all questions are answered
	asked     fault.List        // what must be answered before
	trouble   error
	written   *fieldlog.Log // the log without corrections
	options   fieldlog.Options
	counter   counterState
}

// counterState is how far the on-screen counter has been read.
type counterState struct {
	State string  `json:"state"`
	Done  float64 `json:"done"`
}

// fileStamp tells whether a file of the job is still as it was.
type fileStamp struct {
	size int64
	at   time.Time
	info fs.FileInfo // nil for one that isn't there
}

func (a fileStamp) equal(b fileStamp) bool {
	same := a.info == nil && b.info == nil || a.info != nil && b.info != nil && os.SameFile(a.info, b.info)
	return same && a.size == b.size && a.at.Equal(b.at)
}

// stamps are those of a job's files that people write.
type stamps struct {
	films, others []fileStamp
}

func (s stamps) equal(t stamps) bool {
	return s.sameFilms(t) && slices.EqualFunc(s.others, t.others, fileStamp.equal)
}

func (s stamps) sameFilms(t stamps) bool { return slices.EqualFunc(s.films, t.films, fileStamp.equal) }

func newSitting(s *Server, o *opened, index int, job *job.Job) *sitting {
	one := &sitting{server: s, opened: o, index: index, desk: placing.NewDesk(o.tools)}
	one.now.Store(&view{revision: 1, job: job, counter: counterState{State: "waiting"}})
	one.eyes.asked = make(chan struct{}, 1)
	one.stills = newStills(o.tools, job.Top, job.Work)
	one.stands = newStandIns(one)
	return one
}

// live opens the recording, places the log, then does what takes longer, and looks
// now and then whether somebody has changed the files.
func (t *sitting) live(ctx context.Context) {
	defer t.wait.Done()
	ctx, stop := t.opened.until(ctx)
	defer stop()
	t.begin(ctx)
	t.stands.begin(ctx)
	t.background(ctx, func(ctx context.Context) { t.eyes.work(ctx, t.readCounter) })
	t.listen(ctx)
	var read *frames.Recording
	every(ctx, 2*time.Second, func() {
		t.follow(ctx)
		t.listen(ctx)
		if v := t.now.Load(); v.unread() && v.recording != read {
			read = v.recording
			t.background(ctx, t.readThrough)
		}
	})
}

// listen asks the spoken notes and photos what they are, where that isn't known.
func (t *sitting) listen(ctx context.Context) {
	t.one.Lock()
	job, knows := t.now.Load().job, t.desk.Listened(t.now.Load().job)
	t.one.Unlock()
	if knows {
		return
	}
	heard, err := t.desk.Listen(ctx, job)
	if err != nil {
		return // it is tried again
	}
	t.one.Lock()
	defer t.one.Unlock()
	v := *t.now.Load()
	t.desk.Heard(heard)
	if v.placed != nil {
		_ = t.place(ctx, &v)
	}
	t.show(ctx, &v)
}

// unread tells whether the recording was opened at first sight only.
func (v *view) unread() bool {
	return v.recording != nil && slices.ContainsFunc(v.recording.Parts, func(p frames.Part) bool { return p.Unread })
}

// readThrough looks for damage in the recording, once there is time, and takes it up
// if there is any.
func (t *sitting) readThrough(ctx context.Context) {
	before := t.now.Load()
	rec, other, err := t.desk.ReadThrough(ctx, before.job, before.recording)
	if ctx.Err() != nil {
		return
	}
	t.one.Lock()
	defer t.one.Unlock()
	v := *t.now.Load()
	if v.recording != before.recording {
		return // its files have changed meanwhile
	}
	v.through = true
	if err == nil && other {
		t.desk.Lay(v.job, rec)
		v.recording = rec
		err = t.place(ctx, &v)
	}
	if _, asks := fault.In(err); err != nil && !asks {
		v.trouble = err
	}
	t.show(ctx, &v)
}

// giveWay has what is run let everything else on the computer go first. On a busy one that
// is for long: tests have it do nothing.
var giveWay = ffmpeg.InBackground

// background does f beside the rest, which goes first; it is waited for when the job is
// closed.
func (t *sitting) background(ctx context.Context, f func(context.Context)) {
	t.wait.Go(func() { f(giveWay(ctx)) })
}

// begin reads the job.
func (t *sitting) begin(ctx context.Context) {
	t.one.Lock()
	defer t.one.Unlock()
	v := *t.now.Load()
	t.stamps = stampsOf(v.job)
	err := t.desk.Open(ctx, v.job)
	if err == nil {
		v.recording = t.desk.Recording
		err = t.place(ctx, &v)
	}
	if _, asks := fault.In(err); !asks || v.recording == nil {
		v.trouble = err
	}
	t.show(ctx, &v)
}

// place puts what the job's files say now into v. Questions are no error.
func (t *sitting) place(ctx context.Context, v *view) error {
	placed, err := t.desk.Place(ctx, v.job)
	v.placed, v.asked, v.trouble = placed, nil, nil
	v.written, v.options = t.desk.Written(), t.desk.Options(v.job)
	if list, asks := fault.In(err); asks {
		v.placed, v.asked = nil, list
	} else if err != nil {
		v.placed, v.trouble = nil, err
	}
	return err
}

// show makes v what everybody sees.
func (t *sitting) show(ctx context.Context, v *view) {
	if ctx.Err() != nil {
		return
	}
	before := t.now.Load()
	v.revision = before.revision + 1
	another := v.recording != before.recording
	if another {
		v.film = rand.Text()
		v.counter = counterState{State: "waiting"}
		v.through = false
	}
	t.now.Store(v)
	if another { // they have something else to look at
		t.stands.needed()
		t.eyes.again()
	}
	t.tell("changed", map[string]any{"revision": v.revision})
}

func (t *sitting) tell(event string, value map[string]any) {
	value["job"] = t.index
	t.server.events.tell(event, value)
}

// follow takes up what somebody else has changed on disk.
func (t *sitting) follow(ctx context.Context) {
	t.one.Lock()
	defer t.one.Unlock()
	_ = t.reread(ctx) // the view tells
}

// reread opens the job anew where its files have changed. The caller holds one.
func (t *sitting) reread(ctx context.Context) error {
	before := t.now.Load()
	now := stampsOf(before.job)
	gone := isGone(before.job.Dir)
	if now.equal(t.stamps) {
		return gone
	}
	if gone != nil {
		v := *before
		v.trouble, t.stamps = gone, now
		t.show(ctx, &v)
		return gone
	}
	if !now.sameFilms(t.stamps) {
		t.desk.Forget()
	}
	v := *before
	job, err := before.job.Reread(ctx)
	t.stamps = now
	if err == nil {
		v.job = job
		if err = t.desk.Open(ctx, job); err == nil {
			v.recording = t.desk.Recording
			err = t.place(ctx, &v)
		}
	}
	if _, asks := fault.In(err); err != nil && !asks {
		v.trouble = err
	} else if asks && job == nil {
		list, _ := fault.In(err)
		v.asked, v.placed = list, nil
	}
	t.stamps = stampsOf(v.job)
	t.show(ctx, &v)
	return err
}

// isGone says that a job's folder was moved away, or its drive pulled; nil while it is there.
func isGone(dir string) error {
	if info, err := os.Stat(dir); err == nil && info.IsDir() {
		return nil
	}
	return &trouble.Trouble{Text: words.Tell("%s isn't there any more", dir), Hint: words.Tell("put it back where it was, or plug its drive in; what was saved is in it")}
}

// stampsOf looks at the files of a job that people write.
func stampsOf(j *job.Job) (s stamps) {
	paths := []string{filepath.Join(j.Dir, edits.File), filepath.Join(j.Dir, jobsheet.JobFile), filepath.Join(filepath.Dir(j.Dir), jobsheet.VisitFile)}
	for _, s := range []*job.Source{j.Log, j.Kinds, j.Readings} {
		if s != nil {
			paths = append(paths, s.Path)
		}
	}
	for _, path := range append(paths, j.Beside()...) {
		s.others = append(s.others, stampOf(path))
	}
	for _, film := range j.Videos {
		s.films = append(s.films, stampOf(film.Path))
	}
	return s
}

// stampOf is a file's stamp; that of one that isn't there is empty.
func stampOf(path string) fileStamp {
	info, err := os.Stat(path)
	if err != nil {
		return fileStamp{}
	}
	return fileStamp{info.Size(), info.ModTime(), info}
}
