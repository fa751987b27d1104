package edits

import (
	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// Sentence tells an unfit edit as a warning.
func (u Unfit) Sentence() words.Sentence {
	return words.Tell("a correction by %s of %s doesn't count: %s", by(u.Edit.Author), u.Edit.Time.Format("2006-01-02 15:04"), u.Text)
}

func by(author string) words.Sentence {
	if author == "" {
		return words.Tell("somebody")
	}
	return words.Plain("%s", author)
}

// UnfitSheet tells which edits the job sheet's faults are about.
func (l *List) UnfitSheet(faults fault.List) []Unfit {
	var all []Unfit
	for _, f := range faults {
		for _, e := range l.Edits {
			if e.Line == f.Line && e.What == Sheet {
				all = append(all, Unfit{e, words.Plain("%s %s: %s", f.Column, words.Quoted(f.Value), f.Text), f.Hint})
			}
		}
	}
	return all
}
