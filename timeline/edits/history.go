package edits

import (
	"slices"

	"pushcue/timeline/words"
)

// add puts an edit behind the others.
func (l *List) add(e Edit) {
	switch {
	case !e.known():
		l.fault(e.Line, e.What, words.Tell("this version of pushcue knows no correction of the kind %q; it stays in the file and does nothing", e.What), words.Tell("use the version that wrote it, or a newer one"))
	case e.What == Undo:
		if !move(&l.done, &l.undone, e.Edit) {
			l.fault(e.Line, e.Edit, words.Tell("this takes back a correction that isn't in force"), words.Sentence{})
		}
	case e.What == Redo:
		if !move(&l.undone, &l.done, e.Edit) {
			l.fault(e.Line, e.Edit, words.Tell("this brings back a correction that wasn't taken back"), words.Sentence{})
		}
	default:
		l.done, l.undone = append(l.done, e.ID), nil
	}
	l.Edits = append(l.Edits, e)
}

func move(from, to *[]string, id string) bool {
	i := slices.Index(*from, id)
	if i < 0 {
		return false
	}
	*from = slices.Delete(*from, i, i+1)
	*to = append(*to, id)
	return true
}

// With is the list as it would be with one more edit. l stays as it is.
func (l *List) With(e Edit) *List {
	more := &List{File: l.File, Edits: slices.Clone(l.Edits), Faults: slices.Clone(l.Faults), done: slices.Clone(l.done), undone: slices.Clone(l.undone)}
	e.Line = 1
	if n := len(l.Edits); n > 0 {
		e.Line = l.Edits[n-1].Line + 1
	}
	more.add(e)
	return more
}

// Live are the edits in force, in the order in which they were made.
func (l *List) Live() []Edit {
	if l == nil {
		return nil
	}
	return slices.DeleteFunc(slices.Clone(l.Edits), func(e Edit) bool { return !slices.Contains(l.done, e.ID) })
}

// Find is the edit of that ID.
func (l *List) Find(id string) (Edit, bool) {
	if i := slices.IndexFunc(l.Edits, func(e Edit) bool { return e.ID == id }); i >= 0 {
		return l.Edits[i], true
	}
	return Edit{}, false
}

// Undoable is what an undo would take back, and how many can be taken back.
func (l *List) Undoable() (last Edit, depth int) { return l.top(l.done) }

// Redoable is what a redo would bring back, and how many can be brought back. A new
// correction puts them out of reach.
func (l *List) Redoable() (last Edit, depth int) { return l.top(l.undone) }

func (l *List) top(ids []string) (Edit, int) {
	if len(ids) == 0 {
		return Edit{}, 0
	}
	e, _ := l.Find(ids[len(ids)-1])
	return e, len(ids)
}
