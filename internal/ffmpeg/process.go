package ffmpeg

import (
	"context"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync/atomic"
	"time"

	"pushcue/internal/reach"
	"pushcue/internal/safefile"
)

// Tests change these, so that none fails because the computer is slow.
var (
	// patience is how long a child that was asked to stop may take to close its files.
	patience = 5 * time.Second
	// silence is how long a child may show no sign of life, where nobody says else.
	silence = 2 * time.Minute
)

// A process is one child to run to its end.
type process struct {
	path    string
	args    []string
	folder  *safefile.Temp        // where it runs; nil: anywhere
	files   map[string]string     // ours, by the names that they get in folder; see Run
	sources []*reach.Source       // what it may read by its path
	stdout  func(io.Reader) error // nil: thrown away
	stderr  io.Writer
	stall   time.Duration // without any sign of life for so long it is given up; 0: silence
	alive   *counter      // counts signs of life; nil: what it writes is counted
}

// run starts the child and waits for it. The error is ctx's own when ctx ended;
// else what stdout's reader said; else how the child ended.
func (p process) run(ctx context.Context) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	if p.stall == 0 {
		p.stall = silence
	}
	if p.alive == nil {
		p.alive = new(counter)
	}
	running, stop := context.WithCancelCause(ctx)
	defer stop(nil)

	lent, err := p.lend()
	if err != nil {
		return err
	}
	defer lent.close()
	cmd := exec.CommandContext(running, p.path, lent.args...)
	cmd.Env = environment()
	cmd.Stderr = p.stderr
	cmd.WaitDelay = patience + 2*time.Second

	child, err := tie(cmd)
	if err != nil {
		return err
	}
	defer child.release()
	cmd.Cancel = func() error {
		time.AfterFunc(patience, child.kill)
		return child.ask()
	}

	// A child that dies with us is tied, on Linux, to the thread that started it.
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()

	reading, err := p.connect(cmd)
	if err != nil {
		return err
	}
	ended := func() {}
	if err = lent.give(cmd); err == nil {
		if told := onStart.Load(); told != nil {
			ended = (*told)(p.path, p.args)
		}
		err = cmd.Start()
	}
	if err == nil {
		err = child.started()
	}
	if err != nil {
		stop(err)
		if cmd.Process != nil {
			child.kill()
			cmd.Wait()
			child.over.Store(true)
		}
		reading.start(nil, err, stop)
		return err
	}
	if isBackground(ctx) {
		child.giveWay()
	}
	go p.watch(running, child, reading, stop)
	reading.start(p.stdout, nil, stop)

	err = cmd.Wait()
	child.over.Store(true)
	readErr := reading.end(err)
	ended()
	changed := lent.unchanged()
	switch cause := context.Cause(running); {
	case ctx.Err() != nil:
		return ctx.Err()
	case changed != nil:
		return changed
	case readErr != nil && !errors.Is(readErr, err):
		return readErr
	case cause != nil:
		return cause
	}
	return err
}

var onStart atomic.Pointer[func(program string, args []string) (ended func())]

// OnStart has do called before each start of ffmpeg and ffprobe, once what they read was
// opened, for tests that exchange files at that moment; and ended when they have ended.
func OnStart(do func(program string, args []string) (ended func())) (undo func()) {
	before := onStart.Swap(&do)
	return func() { onStart.Store(before) }
}

type background struct{}

// InBackground is ctx for work that nobody waits for: children started under it let
// everything else on the computer go first.
func InBackground(ctx context.Context) context.Context {
	return context.WithValue(ctx, background{}, true)
}

func isBackground(ctx context.Context) bool { return ctx.Value(background{}) != nil }

// environment is ours without what would make ffmpeg write files or colours.
func environment() []string {
	env := slices.DeleteFunc(os.Environ(), func(v string) bool { return strings.HasPrefix(v, "FFREPORT=") })
	return append(env, "AV_LOG_FORCE_NOCOLOR=1")
}

// program is the file name of a program on this system.
func program(name string) string {
	if runtime.GOOS == "windows" {
		return name + ".exe"
	}
	return name
}

// isProgram tells whether path can be run.
func isProgram(path string) bool {
	info, err := os.Stat(path)
	if err != nil || info.IsDir() {
		return false
	}
	return runtime.GOOS == "windows" && strings.EqualFold(filepath.Ext(path), ".exe") || info.Mode()&0o111 != 0
}
