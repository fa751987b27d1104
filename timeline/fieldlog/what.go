package fieldlog

import (
	"errors"
	"fmt"
	"strings"

	"pushcue/timeline/words"
)

// kind reads what was seen: by the firm's list, else by the plain words. A code may
// stand in a column of its own beside the words.
func (b *builder) kind(i int) Kind {
	code, what := b.text(i, "code"), b.text(i, "what")
	if code == "" && what == "" {
		return Kind{}
	}
	for _, text := range []string{code, what} {
		if e, ok := b.o.Kinds.Find(text); ok {
			k := Kind{Key: e.Key, Code: e.Code, Text: e.Words}
			if code != "" && what != "" {
				k.Text = what
			}
			return k
		}
	}
	text := what
	if text == "" {
		text = code
	}
	k := Kind{Text: text}
	if what != "" {
		k.Code = code
	}
	k.Key, _ = words.FindKind(text)
	if k.Key == "" {
		b.unlisted(i, text)
	}
	return k
}

func (b *builder) unlisted(i int, text string) {
	column := b.at.at("what")
	if column < 0 || b.t.records[i].at(column).blank() {
		column = b.at.at("code")
	}
	if at, known := b.alike[text]; known { // one fault for all rows of that kind
		f := &b.log.Unlisted[at]
		f.Text = strings.TrimSuffix(f.Text, "; more rows have it") + "; more rows have it"
		return
	}
	b.alike[text] = len(b.log.Unlisted)
	f := b.faultAt(i, column, text)
	f.Text = "no list knows this kind; it stays as written"
	f.Hint = "add it to the firm's own list, and name that under [log] in job.toml: kinds = \"kinds.csv\""
	if b.o.Kinds != nil {
		f.Hint = fmt.Sprintf("add it to %s", b.o.Kinds.File)
	}
	if near := nearestKind(text, b.o.Kinds); near != "" {
		f.Hint = fmt.Sprintf("did you mean %q? otherwise %s", near, f.Hint)
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
	if e, ok := b.o.Kinds.Find(what.Code); ok && e.Urgency != "" {
		return e.Urgency, true
	}
	if e, ok := b.o.Kinds.Find(what.Text); ok && what.Code == "" && e.Urgency != "" {
		return e.Urgency, true
	}
	return "", false
}

var errNoUrgency = errors.New("this isn't an urgency: none, watch, repair or at once")
