package fieldlog

import (
	"context"
	"io"
	"slices"
	"strings"

	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// Kinds is a firm's own or licensed list of what is seen in pipes.
type Kinds struct {
	File    string
	Entries []Entry    // as they stand in the file
	Faults  fault.List // entries that could be read only in part; they don't stop the work
	Notes   []words.Sentence

	byText map[string]int
}

// An Entry is one line of the list.
type Entry struct {
	Code    string  // "" for a kind without one
	Words   string  // as the customer reads it
	Urgency Urgency // the usual one; "" where the list names none
	Key     string  // the built-in kind (package words) that it is, "" when none is known
	Line    int
}

// Find returns the entry whose code or words text is; upper and lower case don't
// count. A nil list has none.
func (k *Kinds) Find(text string) (Entry, bool) {
	if k == nil {
		return Entry{}, false
	}
	i, ok := k.byText[listKey(text)]
	if !ok {
		return Entry{}, false
	}
	return k.Entries[i], true
}

func listKey(text string) string { return strings.ToLower(strings.Join(strings.Fields(text), " ")) }

// ReadKinds reads a list of kinds: columns code and words, and if wanted urgency and
// kind (the built-in kind that it is, where its words don't tell). Charset and
// dialect are found as for a log. Without a header the columns are taken in that
// order. The error is a fault.List where the list can't be used: one code with two
// meanings, for instance.
func ReadKinds(ctx context.Context, r io.Reader, o Options) (*Kinds, error) {
	t, err := loadAs(ctx, r, Options{File: o.File, Charset: o.Charset, beside: true}, listScore)
	if err != nil {
		return nil, err
	}
	l := &listReader{t: t, o: o, list: &Kinds{File: o.File, Notes: t.notes, Faults: t.faults, byText: map[string]int{}}}
	l.columns()
	for i, r := range t.records {
		if i%1024 == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if !r.ruled() {
			l.entry(r)
		}
	}
	if len(l.fatal) > 0 {
		return nil, append(l.fatal, l.list.Faults...)
	}
	return l.list, nil
}

type listReader struct {
	t     *table
	o     Options
	at    columns
	list  *Kinds
	fatal fault.List
}

// listMeaning is what a header word of a list means, "" for an unknown one.
func listMeaning(header string) string {
	if len(header) > 200 {
		return ""
	}
	if words.IsListWords(header) {
		return "words"
	}
	switch m := words.FindColumn(header); {
	case slices.Contains(m, "code"):
		return "code"
	case slices.Contains(m, "urgency"):
		return "urgency"
	case slices.Contains(m, "what"):
		return "what"
	}
	return ""
}

// listScore finds a list's header, which has at least two of its words. A list
// without one starts with its first row of a code and words.
func listScore(r record) int {
	known, filled := 0, 0
	for _, c := range r.cells {
		if !c.blank() {
			filled++
		}
		if listMeaning(c.text) != "" {
			known++
		}
	}
	switch {
	case known >= 2:
		return 10 * known
	case filled == 2 || filled == 3:
		return 2
	}
	return 0
}

// columns tells the list's columns apart. "kind" beside "words" is the built-in kind;
// alone it holds the words.
func (l *listReader) columns() {
	l.at = columns{}
	header := false
	for i, c := range l.t.header.cells {
		m := listMeaning(c.text)
		if _, taken := l.at[m]; m != "" && !taken {
			l.at[m] = i
		}
		header = header || m != ""
	}
	if len(l.at) < 2 {
		l.at = columns{"code": 0, "words": 1, "urgency": 2}
		l.t.records = append([]record{l.t.header}, l.t.records...)
		l.list.Notes = append(l.list.Notes, words.Tell("the list has no header: its columns were taken as code, words, urgency"))
		return
	}
	if _, worded := l.at["words"]; !worded {
		if what, ok := l.at["what"]; ok {
			l.at["words"] = what
			delete(l.at, "what")
		}
	}
}

func (l *listReader) text(r record, name string) string {
	return strings.TrimFunc(r.at(l.at.at(name)).text, blank)
}

func (l *listReader) fault(r record, name, value string, text, hint words.Sentence) fault.Fault {
	column := strings.TrimFunc(l.t.header.at(l.at.at(name)).text, blank)
	return fault.Fault{File: l.o.File, Line: r.line, Column: column, Value: value, Text: text, Hint: hint}
}

// entry reads one line of the list.
func (l *listReader) entry(r record) {
	e := Entry{Code: l.text(r, "code"), Words: l.text(r, "words"), Line: r.line}
	if e.Words == "" {
		if e.Code != "" {
			l.list.Faults = append(l.list.Faults, l.fault(r, "words", "", words.Tell("code %q has no words; it is shown as it is", e.Code), words.Tell("write what the customer is to read")))
		}
		e.Words = e.Code
	}
	if e.Words == "" {
		return
	}
	if u := l.text(r, "urgency"); u != "" {
		word, ok := words.FindUrgency(u)
		if !ok {
			l.list.Faults = append(l.list.Faults, l.fault(r, "urgency", u, words.Tell("this isn't an urgency; it was left out"), words.Tell("write none, watch, repair or at once")))
		}
		e.Urgency = Urgency(word)
	}
	e.Key, _ = words.FindKind(e.Words)
	if plain := l.text(r, "what"); plain != "" {
		key, ok := words.FindKind(plain)
		if !ok {
			l.list.Faults = append(l.list.Faults, l.fault(r, "what", plain, words.Tell("this isn't one of the built-in kinds; it was left out"), words.Tell("write one of %s", strings.Join(words.Kinds(), ", "))))
		} else {
			e.Key = key
		}
	}
	l.add(r, e)
}

// add keeps an entry unless its code already means something else.
func (l *listReader) add(r record, e Entry) {
	k := l.list
	if at, known := k.byText[listKey(e.Code)]; e.Code != "" && known {
		other := k.Entries[at]
		if listKey(other.Words) != listKey(e.Words) || other.Urgency != e.Urgency || other.Key != e.Key {
			l.fatal = append(l.fatal, l.fault(r, "code", e.Code, words.Tell("this code means %q here and %q in line %d", e.Words, other.Words, other.Line), words.Tell("take one of them out of the list")))
		}
		return
	}
	k.Entries = append(k.Entries, e)
	at := len(k.Entries) - 1
	if e.Code != "" {
		k.byText[listKey(e.Code)] = at
	}
	if _, known := k.byText[listKey(e.Words)]; !known {
		k.byText[listKey(e.Words)] = at
	}
}
