package jobsheet

import (
	"cmp"
	"slices"

	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// Read reads a job's sheets into one: the firm's first, then the visit's, then the
// job's own, each overriding what came before key by key. Every fault of all of them
// comes back at once as a fault.List, with file, line, key and value.
func Read(from Sources) (*Sheet, error) {
	sheet, _, err := ReadCorrected(from, nil)
	return sheet, err
}

// reader is one reading of a job's sheets.
type reader struct {
	sheet  *Sheet
	faults fault.List

	// Of the sheet being read:
	at    Source
	level level
	lines lineIndex

	// placed tells where each key was last set.
	placed map[string]place
}

// A place is where a key stands.
type place struct {
	file string
	line int
}

// A level says which of the three sheets is read, and which may hold a key.
type level int

const (
	inFirm level = 1 << iota
	inVisit
	inJob

	anywhere = inFirm | inVisit | inJob
	ofVisit  = inVisit | inJob // what all pushes of a visit share
)

func (l level) String() string {
	switch l {
	case inFirm:
		return FirmFile
	case inVisit:
		return VisitFile
	}
	return JobFile
}

func (r *reader) source(s *Source, l level) {
	if s == nil {
		return
	}
	r.at, r.level = *s, l
	if l == inJob {
		r.sheet.File = s.File
	}
	table, lines, err := parse(s.Data)
	if err != nil {
		err.File = s.File
		r.faults = append(r.faults, *err)
		return
	}
	r.lines = lines
	before := len(r.faults)
	apply(r, r.sheet, sheetFields(), table, "")
	slices.SortStableFunc(r.faults[before:], func(a, b fault.Fault) int { return cmp.Compare(a.Line, b.Line) })
}

// fail notes a fault at a key of the sheet being read.
func (r *reader) fail(v value, text, hint words.Sentence) {
	r.faults = append(r.faults, fault.Fault{File: r.at.File, Line: v.line, Column: v.path,
		Value: v.written(), Text: text, Hint: hint})
}

// refuse notes why a value can't be taken.
func (r *reader) refuse(v value, err error) {
	if inner, ok := fault.In(err); ok {
		r.fail(v, inner[0].Text, inner[0].Hint) // the place is the sheet's to tell
		return
	}
	r.fail(v, words.Of(err), words.Sentence{})
}
