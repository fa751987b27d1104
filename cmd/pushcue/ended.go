package main

import (
	"errors"
	"strings"
)

// ended is the exit code of a command that has said all there is to say.
type ended int

func (e ended) Error() string { return "ended" }

// together reports several failures at once, each in its own words. The code is the
// gravest: what isn't what it should be weighs more than what couldn't be done.
func together(errs []error) (code int, complaints []complaint) {
	for _, err := range errs {
		c, more := understand(err)
		complaints = append(complaints, more...)
		if graver(c, code) {
			code = c
		}
	}
	return code, complaints
}

// severity lists exit codes from the least grave.
var severity = []int{exitDone, exitOpen, exitUsage, exitInput, exitFFmpeg, exitOurs, exitUnproven, exitInterrupted}

func graver(a, b int) bool {
	rank := func(code int) int {
		for i, c := range severity {
			if c == code {
				return i
			}
		}
		return len(severity)
	}
	return rank(a) > rank(b)
}

// several is the failures of work that was done side by side.
type several []error

func (s several) Error() string {
	texts := make([]string, len(s))
	for i, err := range s {
		texts[i] = err.Error()
	}
	return strings.Join(texts, "\n")
}

func (s several) Is(target error) bool {
	for _, err := range s {
		if errors.Is(err, target) {
			return true
		}
	}
	return false
}
