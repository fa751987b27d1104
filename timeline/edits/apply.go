package edits

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"pushcue/timeline/distance"
	"pushcue/timeline/fault"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// An Unfit is an edit that no longer fits the job, and why.
type Unfit struct {
	Edit Edit
	Text words.Sentence
	Hint words.Sentence
}

// Corrections are the job sheet's values in force.
func (l *List) Corrections() []jobsheet.Correction {
	var all []jobsheet.Correction
	for _, e := range l.Live() {
		if e.What != Sheet {
			continue
		}
		for _, key := range slices.Sorted(maps.Keys(e.Values)) {
			all = slices.DeleteFunc(all, func(c jobsheet.Correction) bool { return c.Key == key })
			if v := e.Values[key]; v != nil {
				all = append(all, jobsheet.Correction{File: l.File, Line: e.Line, Key: key, Value: v})
			}
		}
	}
	return all
}

// Apply lays the edits in force over a log and adds anchors and taped lengths to
// sheet, which it changes. The log is left alone and a corrected one returned: log
// itself where nothing is corrected, a new one without columns of its own for a push
// that had none. o are the options that the log was read with; header are the words
// for the columns of a new one.
func (l *List) Apply(sheet *jobsheet.Sheet, log *fieldlog.Log, o fieldlog.Options, header func(column string) string) (*fieldlog.Log, []Unfit) {
	a := &applier{sheet: sheet, o: o, log: log.Clone(), added: map[string]int{}}
	live := l.Live()
	if a.log == nil && slices.ContainsFunc(live, func(e Edit) bool { return e.What == Add }) {
		a.log = fieldlog.New(fieldlog.Columns(), header)
	}
	if a.log != nil {
		a.written = len(a.log.Rows)
	}
	for _, e := range live {
		if why, hint := a.apply(e); !why.Empty() {
			a.unfit = append(a.unfit, Unfit{e, why, hint})
		}
	}
	if a.log != nil {
		a.log.Resolved()
	}
	return a.log, a.unfit
}

type applier struct {
	sheet   *jobsheet.Sheet
	o       fieldlog.Options
	log     *fieldlog.Log
	written int            // rows that the log itself has
	added   map[string]int // by edit: index of the row added
	unfit   []Unfit
}

func (a *applier) apply(e Edit) (why, hint words.Sentence) {
	if why, hint = a.lay(e); why.Empty() && tables[e.What] != "" {
		a.given(tables[e.What])
	}
	return why, hint
}

// tables are the tables of the job sheet to which an edit adds.
var tables = map[string]string{Anchor: "anchor", Tie: "anchor", Taped: "distance.taped", Reset: "distance.reset"}

// given notes what of the job sheet comes from a person.
func (a *applier) given(key string) {
	if i, there := slices.BinarySearch(a.sheet.Corrected, key); !there {
		a.sheet.Corrected = slices.Insert(slices.Clone(a.sheet.Corrected), i, key)
	}
}

func (a *applier) lay(e Edit) (why, hint words.Sentence) {
	switch e.What {
	case Sheet, Noted:
		return words.Sentence{}, words.Sentence{}
	case Belongs, Omit:
		return a.give(e)
	case Taped:
		return a.tape(e)
	case Reset:
		return a.reset(e)
	case Tie:
		return a.tie(e)
	case Add:
		return a.add(e)
	}
	row, why := a.row(e)
	if row == nil {
		return why, words.Tell("make it again for the row that is meant")
	}
	switch e.What {
	case Anchor:
		if row.Time == nil || row.Added != "" {
			return words.Tell("row %d has no time to tie the log's clock by", row.Number), words.Tell("move the row alone")
		}
		a.noAnchor(row.Number)
		at := video(*e.Video)
		a.sheet.Anchors = append(a.sheet.Anchors, jobsheet.Anchor{Row: row.Number, Video: at, Edit: e.ID})
		row.Seen = &at
		row.Person("video")
	case NoAnchor:
		a.noAnchor(row.Number)
	case Seen:
		at := video(*e.Video)
		row.Seen = &at
		row.Person("video")
	case Set:
		return a.set(row, e)
	case Aside, Restore:
		row.Aside = e.What == Aside
	case Still:
		row.Still = optional(e.Video)
	case Clip:
		row.ClipFrom, row.ClipTo = optional(e.From), optional(e.To)
	}
	return words.Sentence{}, words.Sentence{}
}

// give takes a file from whatever row has it, and gives it to the one that is named.
func (a *applier) give(e Edit) (why, hint words.Sentence) {
	if a.log != nil {
		for i := range a.log.Rows {
			r := &a.log.Rows[i]
			r.Given = slices.DeleteFunc(slices.Clone(r.Given), func(name string) bool { return name == e.File })
		}
	}
	if e.Row == 0 && e.On == "" {
		return words.Sentence{}, words.Sentence{}
	}
	row, why := a.row(e)
	if row == nil {
		return why, words.Tell("give the file to the row that is meant")
	}
	row.Given = append(row.Given, e.File)
	return words.Sentence{}, words.Sentence{}
}

// Beside is the correction in force about each spoken note and photo that there is one
// about, by the file's name.
func (l *List) Beside() map[string]Edit {
	of := map[string]Edit{}
	for _, e := range l.Live() {
		if e.What == Belongs || e.What == Omit {
			of[e.File] = e
		}
	}
	return of
}

func video(s float64) timecode.Video { return timecode.VideoSeconds(s) }

func optional(s *float64) *timecode.Video {
	if s == nil {
		return nil
	}
	v := video(*s)
	return &v
}

func (a *applier) noAnchor(row int) {
	a.sheet.Anchors = slices.DeleteFunc(slices.Clone(a.sheet.Anchors), func(x jobsheet.Anchor) bool { return x.Row == row })
}

// row finds the row that an edit is about: by number where it is still the same one,
// else by what stood in it.
func (a *applier) row(e Edit) (*fieldlog.Row, words.Sentence) {
	if e.On != "" {
		if i, there := a.added[e.On]; there {
			return &a.log.Rows[i], words.Sentence{}
		}
		return nil, words.Tell("the observation that it corrects isn't there any more")
	}
	if a.log == nil {
		return nil, words.Tell("there is no log any more")
	}
	rows := a.log.Rows[:a.written]
	if e.Row <= len(rows) && (e.Is == "" || e.Is == Mark(a.log, e.Row)) {
		return &rows[e.Row-1], words.Sentence{}
	}
	found := -1
	for i := range rows {
		if Mark(a.log, i+1) != e.Is || e.Is == "" {
			continue
		}
		if found >= 0 {
			return nil, words.Tell("row %d of the log has changed, and several rows are like it was", e.Row)
		}
		found = i
	}
	if found < 0 {
		return nil, words.Tell("row %d of the log isn't what it was", e.Row)
	}
	return &rows[found], words.Sentence{}
}

// Mark tells a row of a log from others, also when rows come and go above it: by
// when, where and what it says. A note may be rewritten without changing it.
func Mark(log *fieldlog.Log, row int) string {
	if log == nil || row < 1 || row > len(log.Rows) {
		return ""
	}
	sum := sha256.New()
	for _, name := range []string{"time", "elapsed", "date", "video", "distance", "what", "code"} {
		cell := ""
		if i, there := log.Meaning[name]; there && i < len(log.Rows[row-1].Cells) {
			cell = strings.TrimSpace(log.Rows[row-1].Cells[i])
		}
		fmt.Fprintf(sum, "%q", cell)
	}
	return hex.EncodeToString(sum.Sum(nil)[:8])
}

func (a *applier) set(row *fieldlog.Row, e Edit) (why, hint words.Sentence) {
	for _, name := range slices.Sorted(maps.Keys(e.Values)) {
		text, typed := e.Values[name].(string)
		var err error
		if typed {
			err = a.log.Revise(row, name, text, a.o)
		} else {
			a.log.Revert(row, name)
		}
		if err != nil {
			why, hint = reason(words.Column(name), text, err)
		}
	}
	return why, hint
}

func reason(of any, text string, err error) (why, hint words.Sentence) {
	if list, ok := fault.In(err); ok {
		return words.Plain("%s %s: %s", of, words.Quoted(text), list[0].Text), list[0].Hint
	}
	return words.Plain("%s %s: %s", of, words.Quoted(text), err), words.Tell("type it in another way")
}

func (a *applier) add(e Edit) (why, hint words.Sentence) {
	row := fieldlog.Row{Number: len(a.log.Rows) + 1, Added: e.ID, Seen: optional(e.Video), Cells: make([]string, len(a.log.Header))}
	if row.Seen != nil {
		row.Person("video")
	}
	a.log.Rows = append(a.log.Rows, row)
	a.added[e.ID] = len(a.log.Rows) - 1
	return a.set(&a.log.Rows[len(a.log.Rows)-1], e)
}

func (a *applier) tape(e Edit) (why, hint words.Sentence) {
	counter, why, hint := a.length(e.Counter)
	if !why.Empty() {
		return why, hint
	}
	length, why, hint := a.length(e.Length)
	if !why.Empty() {
		return why, hint
	}
	all := append(slices.Clone(a.sheet.Distance.Taped), distance.Taped{Counter: counter, Length: length})
	if faults := (distance.Correction{Zero: a.sheet.Distance.Zero, Taped: all}).Check(); len(faults) > 0 {
		return words.Tell("the taped length doesn't go with the others: %s", faults[0].Text), faults[0].Hint
	}
	a.sheet.Distance.Taped = all
	return words.Sentence{}, words.Sentence{}
}

// reset says where the head was when the counter was set anew; said again of the same
// moment, the later word counts.
func (a *applier) reset(e Edit) (why, hint words.Sentence) {
	place, why, hint := a.length(e.Length)
	if !why.Empty() {
		return why, hint
	}
	at := video(*e.Video)
	others := slices.DeleteFunc(slices.Clone(a.sheet.Distance.Resets), func(k distance.KnownReset) bool { return k.At == at })
	a.sheet.Distance.Resets = append(others, distance.KnownReset{At: at, Place: place})
	return words.Sentence{}, words.Sentence{}
}

// tie adds an anchor on what the log's clock showed in a picture.
func (a *applier) tie(e Edit) (why, hint words.Sentence) {
	shown, err := jobsheet.ParseLogTime(e.Log, a.sheet.Log.Dates)
	if err != nil {
		return reason(words.Tell("the log's clock"), e.Log, err)
	}
	at := video(*e.Video)
	others := slices.DeleteFunc(slices.Clone(a.sheet.Anchors), func(x jobsheet.Anchor) bool { return x.Row == 0 && x.Part == "" && x.Video == at })
	half := time.Duration(e.Half * float64(time.Second))
	a.sheet.Anchors = append(others, jobsheet.Anchor{Log: shown, LogHalf: half, Video: at, Edit: e.ID})
	return words.Sentence{}, words.Sentence{}
}

func (a *applier) length(text string) (m distance.Metres, why, hint words.Sentence) {
	read, err := distance.Parse(text, distance.ParseOptions{Unit: a.sheet.Job.Units, Decimal: a.o.Decimal})
	if err == nil && len(read) > 1 {
		err = words.Errorf("it can be read in two ways; write it with its unit and a single mark")
	}
	if err != nil {
		why, hint = reason(words.Tell("the taped length"), text, err)
		return 0, why, hint
	}
	return read[0].Metres, words.Sentence{}, words.Sentence{}
}
