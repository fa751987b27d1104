// Package fault says what is wrong with something a person handed in, where it
// stands, and what to do about it, in words a technician uses.
//
// A Fault is a value, not a log line: readers collect every fault of a file and
// report them together, so that a log is put right in one go. Whether a fault
// stops the work is the reader's decision: a reader returns a List as its error
// when it can't go on, and hands the Faults beside its result when it can.
package fault

import (
	"errors"
	"strings"
	"unicode"

	"pushcue/timeline/words"
)

// A Fault names one thing wrong in an input. Only Text must be set.
type Fault struct {
	File   string         // as the user named it; "" when the fault belongs to no file
	Row    int            // data row of a log, from 1; 0 when it belongs to none
	Line   int            // line of a text file or row of a sheet, from 1; 0 when unknown
	Column string         // the header word or the job sheet's key
	Value  string         // the text found there, as written
	Text   words.Sentence // what is wrong: lower case, no full stop
	Hint   words.Sentence // what to do, one sentence

	More    bool     // other rows have it too, and this one stands for them
	Field   string   // our name of the log's column; "" where it is about none
	Choices []Choice // the ways to settle what is open, where they can be told
}

// A Choice is one way to read what is open.
type Choice struct {
	Label words.Sentence // in plain words
	Key   string         // the job sheet's key that settles it; "" where the cell itself is typed anew
	Value string
}

// Where tells the place in one phrase: `log.csv, row 7 (line 9), column "dist", value "12,34,5"`.
func (f Fault) Where() words.Sentence {
	var parts []words.Sentence
	if f.File != "" {
		parts = append(parts, words.Plain("%s", oneLine(f.File)))
	}
	switch {
	case f.Row > 0 && f.Line > 0:
		parts = append(parts, words.Tell("row %d (line %d)", f.Row, f.Line))
	case f.Row > 0:
		parts = append(parts, words.Tell("row %d", f.Row))
	case f.Line > 0:
		parts = append(parts, words.Tell("line %d", f.Line))
	}
	if f.Column != "" {
		parts = append(parts, words.Tell("column %s", words.Quoted(f.Column)))
	}
	if f.Value != "" {
		parts = append(parts, words.Tell("value %s", words.Quoted(shorten(f.Value))))
	}
	return words.Join(parts, words.Comma)
}

// oneLine keeps a file's name from looking like more than a name.
func oneLine(name string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return unicode.ReplacementChar
		}
		return r
	}, name)
}

// Told joins place and text. The hint is kept apart.
func (f Fault) Told() words.Sentence {
	if where := f.Where(); !where.Empty() {
		return words.Plain("%s: %s", where, f.Text)
	}
	return f.Text
}

// Error is Told in English.
func (f Fault) Error() string { return f.Told().String() }

// A List is every fault found in one reading. As an error it means that the
// input can't be used as it is (the program ends with 4).
type List []Fault

func (l List) Error() string { return l.Told().String() }

// Told is a line a fault.
func (l List) Told() words.Sentence {
	lines := make([]words.Sentence, len(l))
	for i, f := range l {
		lines[i] = f.Told()
	}
	return words.Join(lines, words.Plain("\n"))
}

// Err returns the list as an error, or nil when it is empty.
func (l List) Err() error {
	if len(l) == 0 {
		return nil
	}
	return l
}

// Of makes a one-fault error.
func Of(f Fault) error { return List{f} }

// In returns the faults that err carries, and whether it carries any.
func In(err error) (List, bool) {
	var l List
	if errors.As(err, &l) {
		return l, true
	}
	var f Fault
	if errors.As(err, &f) {
		return List{f}, true
	}
	return nil, false
}

// shorten keeps a message on a few lines however long the cell was.
func shorten(s string) string {
	const most = 60
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "…"
	}
	return s
}
