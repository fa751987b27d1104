package trouble

import (
	"errors"
	"io/fs"

	"pushcue/internal/reach"
	"pushcue/timeline/words"
)

// PlainCause is a system's error without the path, which is named already.
func PlainCause(err error) words.Sentence {
	var at *fs.PathError
	var why *reach.Error
	switch {
	case errors.As(err, &why):
		return why.Text
	case errors.Is(err, fs.ErrNotExist):
		return words.Tell("there is no such file")
	case errors.Is(err, fs.ErrPermission):
		return words.Tell("you may not read it")
	case errors.As(err, &at):
		return words.Of(at.Err)
	}
	return words.Of(err)
}
