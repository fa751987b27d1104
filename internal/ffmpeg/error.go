package ffmpeg

import (
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
