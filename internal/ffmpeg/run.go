package ffmpeg

import (
	"cmp"
	"context"
	"errors"
	"io"
	"os/exec"
	"strings"
	"time"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/internal/reach"
	"pushcue/timeline/words"
)

// A Run is one call of ffmpeg: either Outputs or Args.
type Run struct {
	Outputs []*ff.Stream // what Output and OutputPipe made
	Args    []string     // a ready command line, without the global options; used when Outputs is empty

	// Sources are the files that the run reads by their paths: every one that an input
	// names. They are handed over as they were opened, see lend.
	Sources []*reach.Source

	// Files are put into the private folder that the run works in, under these
	// names: a filter can then say ass=place.ass whatever the real path holds.
	// Names are plain: letters, digits, '.', '_', '-'; "fonts/dejavu.ttf" makes a folder.
	Files    map[string]string // name -> path
	Contents map[string][]byte // name -> what is in it

	// Stdout reads what goes to pipe:1. It sees io.EOF only once ffmpeg has ended
	// well; otherwise its last read fails with ffmpeg's error.
	Stdout func(io.Reader) error

	Progress func(Progress) // called about twice a second; may be nil
	Stall    time.Duration  // without any sign of life for so long the run has failed; 0: as Tools.Patience
}

// Progress is how far a run is.
type Progress struct {
	Frame int64         // frames written to the first output
	Time  time.Duration // written to the furthest output
	Speed float64       // of real time; 0 when unknown
	Done  bool
}

// Result is what a run came to.
type Result struct {
	Frames     int64  // written to the first output with pictures
	Complaints int    // lines that ffmpeg said at level error
	Said       string // the end of them
}

// Do runs ffmpeg to its end. When ctx ends, ffmpeg is asked to stop, then killed,
// and the error is ctx's. An error of Run.Stdout is handed through; others are *Error.
func (t *Tools) Do(ctx context.Context, r Run) (Result, error) {
	args, err := r.args()
	if err != nil {
		return Result{}, err
	}
	args = r.spread(args, t.optionFiles)
	if err := tooLong(t.FFmpeg, args); err != nil {
		return Result{}, err
	}
	dir, done, err := r.workFolder()
	if err != nil {
		return Result{}, err
	}
	defer done()

	var alive counter
	l := &listener{report: r.Progress, alive: &alive}
	p := process{path: t.FFmpeg, args: args, folder: dir, files: r.Files, sources: r.Sources, stdout: r.Stdout, stderr: l, stall: cmp.Or(r.Stall, t.Patience), alive: &alive}
	err = p.run(ctx)
	if doubtful(err, l.said()) {
		t.forget()
	}
	return Result{Frames: l.now.Frame, Complaints: l.complain, Said: l.said()}, ended("ffmpeg", l, err)
}

// args is the whole command line. The progress goes to standard error, since
// standard output may carry pictures.
func (r Run) args() ([]string, error) {
	args := append([]string{"-hide_banner", "-v", "error", "-nostats", "-progress", "pipe:2", "-y"}, quiet...)
	if len(r.Outputs) == 0 {
		return append(args, r.Args...), nil
	}
	graph, err := GraphArgs(r.Outputs...)
	return append(args, graph...), err
}

// ended says how a program ended in a technician's words.
func ended(name string, l *listener, err error) error {
	var exit *exec.ExitError
	if err == nil || !errors.As(err, &exit) {
		return err
	}
	text := name + " failed"
	if said := l.said(); said != "" {
		text += ": " + lastLine(said)
	} else {
		text += ": " + exit.Error()
	}
	return &Error{Text: words.Plain("%s", text), Hint: hintFor(l.said()), Stderr: l.said(), Err: err}
}

func hintFor(said string) words.Sentence {
	if hint, ok := driveFault(said); ok {
		return hint
	}
	return words.Tell("run the command again with --verbose; if it fails again, keep what ffmpeg said")
}

// driveFault returns what to do about a failure that the drive is to blame for.
func driveFault(said string) (hint words.Sentence, ok bool) {
	switch {
	case strings.Contains(said, "No space left on device"):
		return words.Tell("the drive is full: make room on it, then run the command again"), true
	case strings.Contains(said, "Permission denied"):
		return words.Tell("see who may read and write the folder, then run the command again"), true
	case strings.Contains(said, "Input/output error"):
		return words.Tell("the drive doesn't answer as it should: copy the recording to another one and try again"), true
	}
	return hint, false
}

func lastLine(text string) string { return text[strings.LastIndexByte(text, '\n')+1:] }
