package main

import (
	"fmt"
	"testing"

	"pushcue/internal/ffmpeg"
	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

func TestEachBlameHasItsExitCode(t *testing.T) {
	text, hint := words.Plain("text"), words.Plain("hint")
	for _, c := range []struct {
		err  error
		want int
	}{
		{&ffmpeg.PlaceError{Text: text, Hint: hint}, exitInput},
		{&ffmpeg.Error{Text: text, Hint: hint}, exitFFmpeg},
		{&ffmpeg.Error{Text: text, Hint: hint, Err: fmt.Errorf("exit status 1")}, exitFFmpeg},
		{fault.Of(fault.Fault{Text: text, Hint: hint}), exitInput},
		{fmt.Errorf("text"), exitOurs},
	} {
		for _, err := range []error{c.err, fmt.Errorf("reading: %w", c.err)} {
			code, said := understand(err)
			if code != c.want || c.want != exitOurs && (len(said) != 1 || said[0] != complaint{"text", "hint"}) {
				t.Errorf("%#v ends with %d: %+v", err, code, said)
			}
		}
	}
}
