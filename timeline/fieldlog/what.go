package fieldlog

import (
	"pushcue/timeline/words"
)

// kind reads what was seen: by the firm's list, else by the plain words. A code may
// stand in a column of its own beside the words.
func (b *builder) kind(i int) Kind {
	code, what := b.text(i, "code"), b.text(i, "what")
	if code == "" && what == "" {
		return Kind{}
	}
	k, known := kindOf(code, what, b.o.Kinds)
	if !known {
		b.unlisted(i, k.Text)
	}
	return k
}

// kindOf is what a code and words stand for; known is false where no list knows them.
func kindOf(code, what string, list *Kinds) (k Kind, known bool) {
	for _, text := range []string{code, what} {
		if e, ok := list.Find(text); ok {
			k := Kind{Key: e.Key, Code: e.Code, Text: e.Words}
			if code != "" && what != "" {
				k.Text = what
			}
			return k, true
		}
	}
	k.Text = what
	if what == "" {
		k.Text = code
	} else {
		k.Code = code
	}
	k.Key, known = words.FindKind(k.Text)
	return k, known
}

func (b *builder) unlisted(i int, text string) {
	column := b.at.at("what")
	if column < 0 || b.t.records[i].at(column).blank() {
		column = b.at.at("code")
	}
	if at, known := b.alike[text]; known { // one fault for all rows of that kind
		f := &b.log.Unlisted[at]
		f.Text, f.More = words.Tell("no list knows this kind; it stays as written; more rows have it"), true
		return
	}
	b.alike[text] = len(b.log.Unlisted)
	f := b.faultAt(i, column, text)
	f.Text = words.Tell("no list knows this kind; it stays as written")
	f.Hint = words.Tell("add it to the firm's own list, and name that under [log] in job.toml: kinds = \"kinds.csv\"")
	if b.o.Kinds != nil {
		f.Hint = words.Tell("add it to %s", b.o.Kinds.File)
	}
	if near := nearestKind(text, b.o.Kinds); near != "" {
		f.Hint = words.Tell("did you mean %s? otherwise %s", words.Quoted(near), f.Hint)
	}
	b.log.Unlisted = append(b.log.Unlisted, f)
}

// urgency reads how soon something should be done; where the log doesn't say, the
// firm's list tells what is usual.
func (b *builder) urgency(i int, what Kind) (u Urgency, usual bool) {
	column := b.at.at("urgency")
	c := b.t.records[i].at(column)
	if !c.blank() {
		word, ok := words.FindUrgency(c.text)
		if !ok {
			b.unreadable(i, column, c, errNoUrgency)
		}
		return Urgency(word), false
	}
	return usualUrgency(what, b.o.Kinds)
}

// usualUrgency is what the firm's list names for a kind.
func usualUrgency(what Kind, list *Kinds) (u Urgency, usual bool) {
	if e, ok := list.Find(what.Code); ok && e.Urgency != "" {
		return e.Urgency, true
	}
	if e, ok := list.Find(what.Text); ok && what.Code == "" && e.Urgency != "" {
		return e.Urgency, true
	}
	return "", false
}

var errNoUrgency = words.Errorf("this isn't an urgency: none, watch, repair or at once")
