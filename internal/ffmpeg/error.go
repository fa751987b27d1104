package ffmpeg

import (
	"errors"
	"io/fs"
	"os/exec"

	"pushcue/internal/reach"
	"pushcue/timeline/words"
)

// An Error is a fault of ffmpeg itself: missing, too old, failed, hanging. The
// program ends with 5. What is wrong with a recording is a fault.List instead.
type Error struct {
	Text   words.Sentence // what is wrong: lower case, no full stop
	Hint   words.Sentence // what to do, one sentence
	Stderr string         // the end of what ffmpeg said; may be empty
	Err    error          // the cause; may be nil
}

func (e *Error) Error() string { return e.Text.String() }

func (e *Error) Unwrap() error { return e.Err }

// A PlaceError says that the folder for temporary files can't be used, which is no fault
// of ffmpeg and none of a recording. The program ends with 4, as where a disk is full.
type PlaceError struct {
	Text, Hint words.Sentence
	Err        error
}

func (e *PlaceError) Error() string { return e.Text.String() }

func (e *PlaceError) Unwrap() error { return e.Err }

// errHung is the cause of an Error when the program was given up.
var errHung = errors.New("it hangs")

// OfItself reports an error that says nothing about what the input holds: the program
// hung, never ran, or had no place to work in; or the input was exchanged meanwhile.
func OfItself(err error) bool {
	var place *PlaceError
	return errors.Is(err, errHung) || neverRan(err) || errors.As(err, &place) || errors.Is(err, reach.ErrChanged)
}

// doubtful reports whether a run failed in a way that may come from an ffmpeg that
// changed, or can't do what it listed: every failure that isn't the drive's. Asking
// again costs little, and ffmpeg words its reasons differently from version to version.
func doubtful(err error, said string) bool {
	var exit *exec.ExitError
	var hangs *Error
	if neverRan(err) || errors.As(err, &hangs) {
		return true
	}
	_, drive := driveFault(said)
	return errors.As(err, &exit) && !drive
}

// neverRan reports whether a program can't have run at all: it couldn't be started, or
// the system didn't find the libraries it needs.
func neverRan(err error) bool {
	var start *fs.PathError
	if errors.As(err, &start) && start.Op == "fork/exec" {
		return true
	}
	var exit *exec.ExitError
	return errors.As(err, &exit) && loadingFailed(exit.ExitCode())
}
