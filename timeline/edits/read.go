package edits

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"pushcue/timeline/fault"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/words"
)

// Bounds that only a damaged file goes beyond.
const (
	MaxBytes  = 64 << 20 // of the file
	mostLine  = 1 << 20
	mostFault = 100
)

// A List is the file as read: every edit in order, and the lines that can't be used.
type List struct {
	File   string // as the user is to see it named
	Edits  []Edit
	Faults fault.List // lines kept and not used
	Cut    []int      // of those, the lines that were cut off as they were written, never acknowledged

	done, undone []string // IDs in force, and taken back and not yet out of reach, by when
}

// Read reads the file's bytes. It never fails: what can't be used is in Faults.
func Read(file string, data []byte) *List {
	l := &List{File: file}
	if len(data) > MaxBytes {
		l.fault(0, "", words.Tell("the corrections are far too many to be ours; none of them counts"), words.Tell("put the file's last sound copy in its place"))
		return l
	}
	number := 0
	for len(data) > 0 {
		number++
		var line []byte
		line, data, _ = bytes.Cut(data, []byte("\n"))
		if line = bytes.TrimSpace(line); len(line) == 0 {
			continue
		}
		l.line(number, line)
	}
	return l
}

func (l *List) line(number int, line []byte) {
	e, why := parse(line)
	switch {
	case why.Equal(cutOff):
		l.Cut = append(l.Cut, number)
		l.fault(number, line, words.Tell("this correction was cut off as it was written, and doesn't count"), words.Tell("make it again if it is missing; the line stays in the file"))
		return
	case !why.Empty():
		l.fault(number, line, words.Tell("this correction can't be read and doesn't count: %s", why), words.Tell("make it again; the line stays in the file"))
		return
	case slices.ContainsFunc(l.Edits, func(other Edit) bool { return other.ID == e.ID }):
		l.fault(number, line, words.Tell("this correction stands in the file twice; the first one counts"), words.Sentence{})
		return
	}
	e.Line = number
	l.add(e)
}

func (l *List) fault(line int, value any, text, hint words.Sentence) {
	if len(l.Faults) < mostFault {
		l.Faults = append(l.Faults, fault.Fault{File: l.File, Line: line, Value: strings.ToValidUTF8(fmt.Sprintf("%s", value), "\uFFFD"), Text: text, Hint: hint})
	}
}

// cutOff is what is wrong with a line that ends too early: the power went, or the
// program was killed, before it was on the disk.
var cutOff = words.Tell("it ends too early")

// parse reads one line; why is what is wrong with it.
func parse(line []byte) (e Edit, why words.Sentence) {
	if len(line) > mostLine {
		return e, words.Tell("it is far too long")
	}
	if err := json.Unmarshal(line, &e); err != nil {
		var syntax *json.SyntaxError
		if line[0] == '{' && errors.As(err, &syntax) && syntax.Offset >= int64(len(line)) && line[len(line)-1] != '}' {
			return e, cutOff
		}
		return e, words.Tell("it isn't a JSON object of the kinds we write")
	}
	if !utf8.Valid(line) {
		return e, words.Tell("it isn't in UTF-8")
	}
	if e.ID == "" || len(e.ID) > 64 || e.What == "" {
		return e, words.Tell("it lacks its id or what it does")
	}
	return e, e.Wrong()
}

// Wrong says what is wrong with an edit by itself; "" for nothing, and for a kind
// that isn't known. Who adds an edit to the file asks it as whoever reads the file does,
// so that a forged line can set nothing that a person couldn't.
func (e Edit) Wrong() words.Sentence {
	lacks := func(there bool, what words.Sentence) words.Sentence {
		if there {
			return words.Sentence{}
		}
		return what
	}
	row := lacks(e.Row >= 1 && e.Row <= 1e7 && e.On == "" || e.Row == 0 && e.On != "", words.Tell("it lacks the row that it is about"))
	video := lacks(isTime(e.Video), words.Tell("it lacks the time in the recording"))
	switch e.What {
	case Anchor, Seen:
		return either(row, video)
	case NoAnchor, Aside, Restore:
		return row
	case Still:
		return either(row, lacks(e.Video == nil || isTime(e.Video), words.Tell("it lacks the time in the recording")))
	case Clip:
		return either(row, lacks(e.From == nil && e.To == nil || isTime(e.From) && isTime(e.To) && *e.From <= *e.To, words.Tell("it lacks where the clip starts and ends")))
	case Set:
		return either(row, lacks(len(e.Values) > 0, words.Tell("it lacks its values")), e.strangeValue())
	case Add:
		if text, _ := e.Values["distance"].(string); e.Video == nil && strings.TrimSpace(text) != "" {
			return e.strangeValue()
		}
		return either(video, e.strangeValue())
	case Sheet:
		return either(lacks(len(e.Values) > 0, words.Tell("it lacks its values")), e.misnamed())
	case Taped:
		return lacks(e.Counter != "" && e.Length != "", words.Tell("the counter's reading or the taped length"))
	case Tie:
		return either(lacks(e.Log != "", words.Tell("what the log's clock showed")), lacks(e.Half >= 0 && e.Half <= 1e5, words.Tell("how far it may be off")), video)
	case Reset:
		return either(lacks(e.Length != "", words.Tell("where the head was")), video)
	case Noted:
		return lacks(e.Code != "" && e.Text != "", words.Tell("the warning that it is about"))
	case Belongs:
		file := lacks(e.File != "", words.Tell("the file that it is about"))
		if e.Row == 0 && e.On == "" {
			return file
		}
		return either(file, row)
	case Omit:
		return lacks(e.File != "", words.Tell("the file that it is about"))
	case Undo, Redo:
		return lacks(e.Edit != "", words.Tell("it lacks the correction that it is about"))
	}
	return words.Sentence{}
}

func either(whys ...words.Sentence) words.Sentence {
	for _, why := range whys {
		if !why.Empty() {
			return why
		}
	}
	return words.Sentence{}
}

func isTime(s *float64) bool { return s != nil && *s >= 0 && *s <= 1e7 && !math.IsNaN(*s) }

// misnamed says which of the job sheet's values names a file that it may not.
func (e Edit) misnamed() words.Sentence {
	for _, key := range slices.Sorted(maps.Keys(e.Values)) {
		if why := jobsheet.Misnamed(key, e.Values[key]); !why.Empty() {
			return why
		}
	}
	return words.Sentence{}
}

// strangeValue says which of a row's values is none.
func (e Edit) strangeValue() words.Sentence {
	for name, v := range e.Values {
		if !slices.Contains(Columns(), name) {
			return words.Tell("a row has no %s", words.Quoted(name))
		}
		if _, isText := v.(string); !isText && v != nil {
			return words.Tell("%s takes text", words.Quoted(name))
		}
	}
	return words.Sentence{}
}

// known tells the kinds of edits that there are.
func (e Edit) known() bool {
	return slices.Contains([]string{Anchor, NoAnchor, Tie, Seen, Set, Add, Aside, Restore, Still, Clip, Sheet, Taped, Reset, Noted, Belongs, Omit, Undo, Redo}, e.What)
}
