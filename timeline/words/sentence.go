package words

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// A Sentence is something to tell a person, not yet in any language: what it says in
// English, and what that is filled with. The English form is its key under
// [sentences] in the language files. What it is filled with keeps its type until
// then, so that a number gets the language's decimal mark and a sentence inside
// another is told in the same language.
type Sentence struct {
	form  string
	args  []any
	plain bool // the same in every language
	whole bool // begins with a capital and ends with a full stop, wherever it was taken from
}

// Tell makes the sentence of that English form, filled as fmt.Sprintf does.
// Arguments may be sentences and errors themselves; text that a person wrote is best
// handed over as Quoted, or as it is where it is to be copied.
func Tell(form string, args ...any) Sentence {
	if false {
		_ = fmt.Sprintf(form, args...) // go vet checks callers of Tell as it does those of Sprintf
	}
	return Sentence{form: form, args: args}
}

// Plain makes a sentence without words of a language: a measure, a file's name, what
// another program said.
func Plain(form string, args ...any) Sentence {
	if false {
		_ = fmt.Sprintf(form, args...)
	}
	return Sentence{form: form, args: args, plain: true}
}

// Whole makes a sentence of its own out of a clause.
func Whole(clause Sentence) Sentence {
	return Sentence{form: "%s", args: []any{clause}, plain: true, whole: true}
}

// Join puts parts one behind the other, with between between them.
func Join(parts []Sentence, between Sentence) Sentence {
	all := Sentence{plain: true}
	for i, part := range parts {
		if i > 0 {
			all.form, all.args = all.form+"%s", append(all.args, between)
		}
		all.form, all.args = all.form+"%s", append(all.args, part)
	}
	return all
}

// Comma is what stands between the parts of a list.
var Comma = Plain(", ")

// Quoted is text as a person wrote it, shown between quotation marks, with what
// can't be seen spelt out.
type Quoted string

// Column is one of the log's columns by our name for it, shown as its header word.
type Column string

// Args returns what a sentence of that English form is filled with; false for a sentence
// of another form.
func (s Sentence) Args(form string) ([]any, bool) { return s.args, s.form == form }

// Empty tells that there is nothing to tell.
func (s Sentence) Empty() bool { return s.form == "" }

// String is the sentence in English, which the commands speak.
func (s Sentence) String() string { return English().Put(s) }

// Equal tells whether two sentences say the same.
func (s Sentence) Equal(other Sentence) bool { return s.String() == other.String() }

// Facts are what a sentence and the sentences in it are filled with, in order, as English
// has them: they stay when the sentence is worded anew.
func (s Sentence) Facts() []string {
	var all []string
	for _, a := range s.args {
		switch a := a.(type) {
		case Sentence:
			if a.plain && len(a.args) == 0 {
				all = append(all, a.String())
			}
			all = append(all, a.Facts()...)
		case error:
			all = append(all, Of(a).Facts()...)
		default:
			all = append(all, fmt.Sprint(English().filling(a)))
		}
	}
	return slices.DeleteFunc(all, func(fact string) bool { return fact == "" })
}

// MarshalJSON keeps a sentence for a later run of the program: its form, and the
// texts that it is filled with. Other arguments are kept as English has them.
func (s Sentence) MarshalJSON() ([]byte, error) {
	if s.form == "" {
		return []byte(`""`), nil
	}
	kept := []string{s.form}
	for _, a := range s.args {
		text, isText := a.(string)
		if !isText {
			return json.Marshal(s.String())
		}
		kept = append(kept, text)
	}
	return json.Marshal(kept)
}

// UnmarshalJSON reads what MarshalJSON wrote; a text alone stays as it is.
func (s *Sentence) UnmarshalJSON(data []byte) error {
	var text string
	if json.Unmarshal(data, &text) == nil {
		*s = Sentence{}
		if text != "" {
			*s = Plain("%s", text)
		}
		return nil
	}
	var kept []string
	if err := json.Unmarshal(data, &kept); err != nil || len(kept) == 0 {
		return err
	}
	*s = Sentence{form: kept[0]}
	for _, text := range kept[1:] {
		s.args = append(s.args, text)
	}
	return nil
}

// Put puts a sentence into words.
func (l *Language) Put(s Sentence) string {
	if s.form == "" {
		return ""
	}
	form := s.form
	if forms := l.sentences[form]; !s.plain && forms != nil {
		form = forms[0]
		if len(forms) > 1 && !l.one(s.args) {
			form = forms[1]
		}
	}
	filled := make([]any, len(s.args))
	for i, a := range s.args {
		filled[i] = l.filling(a)
	}
	text := fmt.Sprintf(form, filled...)
	if s.whole {
		first, size := utf8.DecodeRuneInString(text)
		text = string(unicode.ToUpper(first)) + text[size:] + "."
	}
	return text
}

// one tells whether the first number of a sentence takes the singular.
func (l *Language) one(args []any) bool {
	for _, a := range args {
		if n, isNumber := a.(int); isNumber {
			return n == 1 || n == 0 && l.book.ZeroIsOne
		}
	}
	return true
}

// filling is an argument as it stands in a sentence of this language.
func (l *Language) filling(a any) any {
	switch a := a.(type) {
	case Sentence:
		return l.Put(a)
	case error:
		return l.Put(Of(a))
	case Quoted:
		return l.quoted(string(a))
	case Column:
		return l.columnName(string(a))
	case float64:
		return decimal{a, l.Decimal}
	case time.Month:
		return l.month(a)
	case interface{ Marked(rune) string }:
		return a.Marked(l.Decimal)
	}
	return a
}

func (l *Language) columnName(name string) string {
	if l.Tag == "en" {
		return name
	}
	return l.Column(name)
}

func (l *Language) month(m time.Month) string {
	if l.Tag == "en" || m < time.January || m > time.December {
		return m.String()
	}
	return l.book.Months[m-1]
}

func (l *Language) quoted(text string) string {
	q := strconv.Quote(text)
	if len(l.book.Quotes) != 2 {
		return q
	}
	return l.book.Quotes[0] + strings.ReplaceAll(q[1:len(q)-1], `\"`, `"`) + l.book.Quotes[1]
}

// decimal is a number that is written with the language's decimal mark.
type decimal struct {
	value float64
	mark  rune
}

func (d decimal) Format(state fmt.State, verb rune) {
	text := fmt.Sprintf(fmt.FormatString(state, verb), d.value)
	fmt.Fprint(state, strings.Replace(text, ".", string(d.mark), 1))
}

// wrong is an error that can be told in every language.
type wrong struct {
	Sentence
	cause error
}

func (w *wrong) Error() string { return w.String() }
func (w *wrong) Unwrap() error { return w.cause }

// Errorf makes an error of a sentence. It wraps the last error among its arguments.
func Errorf(form string, args ...any) error {
	if false {
		_ = fmt.Sprintf(form, args...)
	}
	w := &wrong{Sentence: Tell(form, args...)}
	for _, a := range slices.Backward(args) {
		if err, isError := a.(error); isError {
			w.cause = err
			break
		}
	}
	return w
}

// Of is the sentence that an error carries; the text of any other as it is.
func Of(err error) Sentence {
	var told interface{ Told() Sentence }
	if errors.As(err, &told) && told.Told().String() == err.Error() {
		return told.Told()
	}
	return Plain("%s", err.Error())
}

// Told is the sentence itself: errors that embed one carry it.
func (s Sentence) Told() Sentence { return s }
