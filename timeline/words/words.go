// Package words holds the product's words in each language it speaks: what is
// seen in pipes, the header words of logs, and the labels of what is handed over.
//
//	fr, _ := words.For("fr")
//	fr.Kind("roots")                        // "racines"
//	fr.Say("about", "12,4 m")               // "env. 12,4 m"
//	key, ok := words.FindKind("Wurzeln")    // "roots", true
//	words.FindColumn("Meterage")            // ["distance"]
//	words.FindColumn("grade")               // ["urgency", "slope"]: ask
//
// One file a language (*.toml in this folder), so that others can be added; a
// test holds every file to the same keys. The words are plain ones. No published
// list of the trade's words in these four languages stands behind them: they are
// common practice, no published source.
package words

import (
	"cmp"
	"embed"
	"fmt"
	"io/fs"
	"maps"
	"slices"
	"strings"
	"sync"

	"github.com/pelletier/go-toml/v2"
)

//go:embed *.toml
var files embed.FS

// A Language is the product's words in one language. It is read-only.
type Language struct {
	Tag     string // BCP 47 primary tag: "en"
	Decimal rune   // '.' or ','
	book    book

	sentences map[string][]string // by English form: one form, or one for one and one for many
}

// book is a language file as it stands in this folder.
type book struct {
	Language string
	Decimal  string
	Date     string   // {d} {month} {yyyy}
	Months   []string // twelve, as they stand in a date

	Kinds      map[string]term
	Urgency    map[string]term
	Columns    map[string][]string // header words that mean one column
	Units      map[string][]string // words for units of length: m, cm, mm, ft, in; "other" are those that no length is read in
	Headers    map[string][]string `toml:"header_units"` // header words that name a length and its unit in one, by unit
	Time       timeWords           // words in times of day, lengths of time and dates
	Leads      []string            // words before the first end of a stretch: "from 12 to 15"
	Open       map[string][]string // header words that can mean several
	Clock      map[string][]string // in a clock cell: places on the pipe's wall, and "filler" for words that say nothing
	Rows       []string            // words before a row's number, in a file's name: "row 3.wav"
	Errors     []string            `toml:"sheet_errors"` // what a spreadsheet shows for an error, where no ! or ? is behind it
	Address    []string            // forms of address before a person's name
	MonthFirst bool                `toml:"month_first"` // a spreadsheet in this language may take the first of two numbers for a month
	To         []string            // words between the two ends of a stretch or span
	List       []string            // header words, in a firm's list of kinds, over what the customer reads
	Joiners    []string            // words after which a kind is only described further
	Months3    []string            `toml:"short_months"` // as a spreadsheet abbreviates them, several parted by a blank
	Labels     map[string]string
	Cautions   map[string]string
	Page       map[string]string // the customer's page and report
	Means      map[string]string // what a kind means, for someone who has never seen a drain
	Review     map[string]string // the page for looking and correcting; {names} stand for what is filled in

	Quotes    []string       // marks before and behind what a person wrote
	ZeroIsOne bool           `toml:"zero_is_one"` // nothing takes the singular
	Sentences map[string]any // by their English form: a text, or one for one and one for many, by the first number
}

// A term is the word shown and those recognised beside it.
type term struct {
	Show string
	Also []string
}

// For returns the language of a BCP 47 tag; its region is left aside ("es-MX").
func For(tag string) (*Language, error) {
	primary, _, _ := strings.Cut(strings.ToLower(strings.ReplaceAll(tag, "_", "-")), "-")
	if l, ok := all()[primary]; ok {
		return l, nil
	}
	return nil, fmt.Errorf("language %q isn't known; there are %s", tag, strings.Join(Tags(), ", "))
}

// English is the language that the commands speak.
func English() *Language { return all()["en"] }

// Tags lists the languages there are, English first.
func Tags() []string { return slices.Clone(shelf().tags) }

// A library is all language files, read, and the index of the words in them.
type library struct {
	tags      []string
	languages map[string]*Language
	index     *lookup
}

// shelf is the library of this program. Tests of this package put one with another
// language in its place.
var shelf = sync.OnceValue(func() *library {
	l, err := load(files)
	if err != nil { // the files are part of the program; the tests read each of them
		panic(err)
	}
	return l
})

func all() map[string]*Language { return shelf().languages }

func index() *lookup { return shelf().index }

// load reads the language files, TAG.toml each.
func load(from fs.FS) (*library, error) {
	names, err := fs.Glob(from, "*.toml")
	if err != nil {
		return nil, err
	}
	l := &library{languages: make(map[string]*Language, len(names))}
	for _, name := range names {
		text, err := fs.ReadFile(from, name)
		if err != nil {
			return nil, err
		}
		tag := strings.TrimSuffix(name, ".toml")
		if l.languages[tag], err = read(tag, text); err != nil {
			return nil, err
		}
		l.tags = append(l.tags, tag)
	}
	slices.SortFunc(l.tags, func(a, b string) int { // English, the fallback, first
		return cmp.Or(-cmp.Compare(strings.Count(a, "en"), strings.Count(b, "en")), cmp.Compare(a, b))
	})
	l.index = indexOf(l)
	return l, nil
}

func read(tag string, text []byte) (*Language, error) {
	l := &Language{Tag: tag}
	if err := toml.Unmarshal(text, &l.book); err != nil {
		return nil, fmt.Errorf("words: %s.toml: %w", tag, err)
	}
	for _, r := range l.book.Decimal {
		l.Decimal = r
	}
	l.sentences = make(map[string][]string, len(l.book.Sentences))
	for form, told := range l.book.Sentences {
		l.sentences[form] = forms(told)
	}
	return l, nil
}

// forms are the one or two forms that a sentence has in a language.
func forms(told any) []string {
	if text, single := told.(string); single {
		return []string{text}
	}
	var all []string
	if several, ok := told.([]any); ok {
		for _, one := range several {
			all = append(all, fmt.Sprint(one))
		}
	}
	return all
}

// Review is what the page for looking and correcting says. It fills in the {names}
// itself, since it learns of what it shows while it is open.
func (l *Language) Review() map[string]string { return maps.Clone(l.book.Review) }

// Kind is the plain word for a built-in kind; an unknown key comes back as it is.
func (l *Language) Kind(key string) string {
	if t, ok := l.book.Kinds[key]; ok {
		return t.Show
	}
	return key
}

// Means tells in one or two plain sentences what a kind means to somebody who has
// never seen a drain; "" where there is nothing to tell.
func (l *Language) Means(key string) string { return l.book.Means[key] }

// Urgency is the word for one of the urgencies (none, watch, repair, at once); an
// unknown one comes back as it is.
func (l *Language) Urgency(u string) string {
	if t, ok := l.book.Urgency[u]; ok {
		return t.Show
	}
	return u
}

// Column is the header word for a column that we name ourselves; an unknown one comes
// back as it is.
func (l *Language) Column(name string) string {
	if all := l.book.Columns[name]; len(all) > 0 {
		return all[0]
	}
	return name
}

// Say is the label or sentence of that key, its verbs filled with args. An
// unknown key comes back in brackets, so that it is seen and not taken for text.
func (l *Language) Say(key string, args ...any) string {
	form, ok := l.book.Labels[key]
	if !ok {
		form, ok = l.book.Cautions[key]
	}
	if !ok {
		form, ok = l.book.Page[key]
	}
	switch {
	case !ok:
		return "[" + key + "]"
	case len(args) == 0:
		return form
	}
	return fmt.Sprintf(form, args...)
}
