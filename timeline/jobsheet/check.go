package jobsheet

import (
	"fmt"
	"slices"

	"pushcue/timeline/distance"
	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// consistency notes values that are right each but not together.
func (r *reader) consistency() {
	s := r.sheet
	if from, to := s.Recording.ShowFrom, s.Recording.ShowTo; from != nil && to != nil && *from >= *to {
		r.clash("recording.show_to", to.String(), words.Tell("show_to must come after show_from (%s)", from), words.Sentence{})
	}
	for i, a := range s.Anchors {
		if a.Part != "" && len(s.Recording.Files) > 0 && !slices.Contains(s.Recording.Files, a.Part) {
			r.clash(fmt.Sprintf("anchor.%d.part", i), a.Part, words.Tell("this part isn't among the recording's files"), words.Tell("name it as [recording] files does"))
		}
	}
	for _, f := range (distance.Correction{Zero: s.Distance.Zero, Taped: s.Distance.Taped}).Check() {
		at := r.placed["distance.taped"]
		f.File, f.Line = at.file, at.line
		r.faults = append(r.faults, f)
	}
}

// clash notes a fault at a key that was read without one.
func (r *reader) clash(path, written string, text, hint words.Sentence) {
	at := r.placed[path]
	r.faults = append(r.faults, fault.Fault{File: at.file, Line: at.line, Column: path, Value: written, Text: text, Hint: hint})
}
