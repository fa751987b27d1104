package reach

import (
	"errors"
	"fmt"
	"io/fs"

	"pushcue/timeline/words"
)

// Why a file isn't opened.
var (
	ErrOutside = errors.New("it lies outside the job folder")
	ErrLink    = errors.New("it is a link")
	ErrNotFile = errors.New("it isn't a file")
	ErrLarge   = errors.New("it is too large")
)

// An Error says why a file isn't opened, without its name. It is ErrOutside, ErrLink,
// ErrNotFile or ErrLarge.
type Error struct {
	Text words.Sentence // what is wrong: lower case, no full stop
	Hint words.Sentence // what to do, one sentence
	Err  error
}

func (e *Error) Error() string { return e.Text.String() }

// Told is the error for words.Of.
func (e *Error) Told() words.Sentence { return e.Text }

func (e *Error) Unwrap() error { return e.Err }

func outside() *Error {
	return &Error{
		Text: words.Tell("it lies outside the job folder, or a link on the way to it leads out"),
		Hint: words.Tell("copy the file itself into the job folder; where you trust whoever wrote the job sheet, --outside reads it where it lies"),
		Err:  ErrOutside,
	}
}

func link() *Error {
	return &Error{
		Text: words.Tell("it is a link, and here none is followed"),
		Hint: words.Tell("put the file itself where the link is"),
		Err:  ErrLink,
	}
}

func notFile(kind words.Sentence) *Error {
	return &Error{Text: words.Tell("it isn't a file but %s", kind), Hint: words.Tell("put a file there, or take it out of the job folder"), Err: ErrNotFile}
}

var noName = words.Tell("a name that this system keeps for something else")

// fits refuses everything that isn't a regular file of at most so many bytes.
func fits(info fs.FileInfo, most int64) error {
	kind := words.Tell("something else")
	switch mode := info.Mode(); {
	case mode.IsRegular() && info.Size() > most:
		return tooLarge(most)
	case mode.IsRegular():
		return nil
	case mode.IsDir():
		kind = words.Tell("a folder")
	case mode&fs.ModeNamedPipe != 0:
		kind = words.Tell("a pipe")
	case mode&fs.ModeSocket != 0:
		kind = words.Tell("a socket")
	case mode&fs.ModeDevice != 0:
		kind = words.Tell("a device")
	}
	return notFile(kind)
}

func tooLarge(most int64) *Error {
	return &Error{
		Text: words.Tell("it is larger than %s, the most that is read of such a file", size(most)),
		Hint: words.Tell("see whether the right file has this name"),
		Err:  ErrLarge,
	}
}

// size writes a limit, which is a round number of binary units, as people do.
func size(n int64) string {
	switch {
	case n < 1<<20:
		return fmt.Sprintf("%d KB", n>>10)
	case n < 1<<30:
		return fmt.Sprintf("%d MB", n>>20)
	}
	return fmt.Sprintf("%d GB", n>>30)
}
