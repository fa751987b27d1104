package words

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode"

	"github.com/google/go-cmp/cmp"
	"github.com/pelletier/go-toml/v2"
)

func TestEveryLanguageHasEveryKey(t *testing.T) {
	for _, tag := range Tags() {
		b := all()[tag].book
		if diff := cmp.Diff(slices.Sorted(slices.Values(Kinds())), slices.Sorted(maps.Keys(b.Kinds))); diff != "" {
			t.Errorf("%s: kinds (-wanted +there):\n%s", tag, diff)
		}
		if diff := cmp.Diff(slices.Sorted(slices.Values(Urgencies())), slices.Sorted(maps.Keys(b.Urgency))); diff != "" {
			t.Errorf("%s: urgencies (-wanted +there):\n%s", tag, diff)
		}
		if diff := cmp.Diff(slices.Sorted(slices.Values(Columns())), slices.Sorted(maps.Keys(b.Columns))); diff != "" {
			t.Errorf("%s: columns (-wanted +there):\n%s", tag, diff)
		}
		en := all()["en"].book
		for name, pair := range map[string][2]map[string]string{"labels": {en.Labels, b.Labels}, "cautions": {en.Cautions, b.Cautions}, "page": {en.Page, b.Page}, "means": {en.Means, b.Means}, "review": {en.Review, b.Review}} {
			if diff := cmp.Diff(slices.Sorted(maps.Keys(pair[0])), slices.Sorted(maps.Keys(pair[1]))); diff != "" {
				t.Errorf("%s: %s (-English +%s):\n%s", tag, name, tag, diff)
			}
		}
		if len(b.Months) != 12 || len(b.Months3) != 12 {
			t.Errorf("%s: %d and %d months", tag, len(b.Months), len(b.Months3))
		}
		for _, group := range [][]string{b.To, b.Joiners, b.Clock["crown"], b.Clock["invert"], b.Months} {
			if len(group) == 0 || slices.Contains(group, "") {
				t.Errorf("%s: an empty word or list: %q", tag, group)
			}
		}
	}
}

func TestNothingInALanguageFileIsMisspelt(t *testing.T) {
	for _, tag := range Tags() {
		text, err := files.ReadFile(tag + ".toml")
		if err != nil {
			t.Fatal(err)
		}
		d := toml.NewDecoder(strings.NewReader(string(text))).DisallowUnknownFields()
		if err := d.Decode(&book{}); err != nil {
			t.Errorf("%s.toml: %v", tag, err)
		}
	}
}

func TestNoTextIsEmptyOrPadded(t *testing.T) {
	for _, tag := range Tags() {
		b := all()[tag].book
		texts := map[string]string{"language": b.Language, "date": b.Date, "decimal": b.Decimal}
		maps.Copy(texts, b.Labels)
		maps.Copy(texts, b.Cautions)
		maps.Copy(texts, b.Review)
		for key, term := range b.Kinds {
			texts["kinds."+key] = term.Show
		}
		for key, term := range b.Urgency {
			texts["urgency."+key] = term.Show
		}
		for key, text := range texts {
			if text == "" || text != strings.TrimSpace(text) {
				t.Errorf("%s: %s is %q", tag, key, text)
			}
		}
	}
}

var place = regexp.MustCompile(`\{[a-z]+\}`)

// What the review page fills in has a name, so it may stand in another order.
func TestPlacesToFillAgree(t *testing.T) {
	for _, tag := range Tags() {
		for key, text := range all()["en"].book.Review {
			want, got := place.FindAllString(text, -1), place.FindAllString(all()[tag].book.Review[key], -1)
			slices.Sort(want)
			slices.Sort(got)
			if !slices.Equal(want, got) {
				t.Errorf("%s: %s has places for %q, in English for %q", tag, key, got, want)
			}
		}
	}
}

var verb = regexp.MustCompile(`%[^%a-z]*[a-z%]`)

// The arguments of a label are the same in every language and stand in the same
// order, since Say fills them in order.
func TestVerbsAgree(t *testing.T) {
	en := all()["en"].book
	for _, tag := range Tags() {
		b := all()[tag].book
		for key, text := range en.Labels {
			if want, got := verb.FindAllString(text, -1), verb.FindAllString(b.Labels[key], -1); !slices.Equal(want, got) {
				t.Errorf("%s: %s takes %q, in English %q", tag, key, got, want)
			}
		}
		for key, text := range b.Cautions {
			if strings.Contains(text, "%") {
				t.Errorf("%s: %s holds a verb", tag, key)
			}
		}
	}
}

// One word never names two kinds, urgencies or months, in whatever languages: a
// log doesn't say which language it is in.
func TestAWordMeansOneThing(t *testing.T) {
	kinds, urgencies, months := map[string]string{}, map[string]string{}, map[string]string{}
	claim := func(m map[string]string, tag, word, meaning string) {
		if other, ok := m[fold(word)]; ok && other != meaning {
			t.Errorf("%s: %q means %s and %s", tag, word, meaning, other)
		}
		m[fold(word)] = meaning
	}
	for _, tag := range Tags() {
		b := all()[tag].book
		for key, term := range b.Kinds {
			for _, w := range append(term.Also, term.Show) {
				claim(kinds, tag, w, key)
			}
		}
		for key, term := range b.Urgency {
			for _, w := range append(term.Also, term.Show) {
				claim(urgencies, tag, w, key)
			}
		}
		for i := range 12 {
			for _, w := range append(strings.Fields(b.Months3[i]), b.Months[i]) {
				claim(months, tag, w, strconv.Itoa(i+1))
			}
		}
	}
}

// A header word that one language takes for one column and another for a second
// is only right where the file says so under [open].
func TestHeaderWordsThatMeanSeveralAreSaidToBeOpen(t *testing.T) {
	open := map[string]bool{}
	for _, tag := range Tags() {
		for h := range all()[tag].book.Open {
			open[fold(h)] = true
		}
	}
	for h, meanings := range index().columns {
		if len(meanings) > 1 && !open[h] {
			t.Errorf("%q means %q", h, meanings)
		}
	}
}

func TestFindKind(t *testing.T) {
	tests := []struct{ text, want string }{
		{"roots", "roots"}, {"Roots", "roots"}, {"ROOT INTRUSION", "roots"},
		{"Wurzeln", "roots"}, {"raíces", "roots"}, {"raices", "roots"}, {"Racines", "roots"},
		{"offset-joint", "offset-joint"}, {"offset joint", "offset-joint"}, {"joint décalé", "offset-joint"},
		{"crack at joint", "crack"}, {"roots, heavy", "roots"}, {"belly (30 % full)", "belly"},
		{"connection sticking out into the pipe", "intruding-connection"},
		{"end of the line", "line-end"}, {"Riß", "crack"}, {"entrée d’eau", "infiltration"},
		{"la cámara no pudo avanzar más", "could-go-no-further"},
		{"no roots", ""}, {"roots?!", "roots"}, {"rooty", ""}, {"", ""}, {"   ", ""}, {"at joint", ""},
		{"connection ok", ""}, {"BAF-17", ""},
	}
	for _, tt := range tests {
		if got, ok := FindKind(tt.text); got != tt.want || ok != (tt.want != "") {
			t.Errorf("FindKind(%q) = %q, %t, want %q", tt.text, got, ok, tt.want)
		}
	}
}

func TestEveryShownWordIsRecognised(t *testing.T) {
	for _, tag := range Tags() {
		l, err := For(tag)
		if err != nil {
			t.Fatal(err)
		}
		for _, key := range Kinds() {
			if got, _ := FindKind(l.Kind(key)); got != key {
				t.Errorf("%s: %q is found as %q, want %q", tag, l.Kind(key), got, key)
			}
		}
		for _, u := range Urgencies() {
			if got, _ := FindUrgency(l.Urgency(u)); got != u {
				t.Errorf("%s: %q is found as %q, want %q", tag, l.Urgency(u), got, u)
			}
		}
	}
}

func TestFindColumn(t *testing.T) {
	tests := []struct {
		header string
		want   []string
	}{
		{"Distance", []string{"distance"}}, {"distance (m)", []string{"distance"}}, {"Dist. [ft]", []string{"distance"}},
		{"Depth m", []string{"depth"}}, {"Uhrzeit", []string{"time"}}, {"HEURE", []string{"time"}},
		{"Position horaire", []string{"clock"}}, {"o'clock", []string{"clock"}}, {"O’Clock", []string{"clock"}},
		{"grade", []string{"urgency", "slope"}}, {"Grade", []string{"urgency", "slope"}}, {"position", []string{"distance", "clock"}},
		{"Descripción", []string{"what", "note"}}, {"bis", []string{"to"}}, {"to", []string{"to"}},
		{"Größe", []string{"size"}}, {"pente", []string{"slope"}}, {"Truck", nil}, {"", nil}, {"(m)", []string{"distance"}}, {"( )", nil},
	}
	for _, tt := range tests {
		if diff := cmp.Diff(tt.want, FindColumn(tt.header)); diff != "" {
			t.Errorf("FindColumn(%q) (-want +got):\n%s", tt.header, diff)
		}
	}
}

func TestFor(t *testing.T) {
	for _, tag := range []string{"de", "DE", "de-AT", "de_CH"} {
		if l, err := For(tag); err != nil || l.Tag != "de" || l.Decimal != ',' {
			t.Errorf("For(%q) = %v, %v", tag, l, err)
		}
	}
	for _, tag := range []string{"", "xx", "deu"} {
		if _, err := For(tag); err == nil {
			t.Errorf("For(%q): no error", tag)
		}
	}
}

func TestDates(t *testing.T) {
	at := time.Date(2026, 3, 2, 9, 7, 31, 999_000_000, time.UTC)
	want := map[string]string{
		"en": "2 Mar 2026 09:07:31 UTC", "es": "2 mar 2026 09:07:31 UTC",
		"fr": "2 mars 2026 09:07:31 UTC", "de": "2. März 2026 09:07:31 UTC",
	}
	for tag, w := range want {
		l, _ := For(tag)
		if got := l.DateTime(at); got != w {
			t.Errorf("%s: %q, want %q", tag, got, w)
		}
	}
	for seconds, w := range map[int]string{0: "UTC", 3600: "UTC+1", -12600: "UTC−3:30", 20700: "UTC+5:45"} {
		if got := Zone(at.In(time.FixedZone("", seconds))); got != w {
			t.Errorf("Zone(%d s) = %q, want %q", seconds, got, w)
		}
	}
}

func TestClockWords(t *testing.T) {
	en, _ := For("en")
	fr, _ := For("fr")
	for got, want := range map[string]string{
		en.Clock(3, 3): "at 3 o'clock", en.Clock(9, 3): "from 9 to 3 o'clock", en.Clock(0.5, 3.5): "from 12:30 to 3:30 o'clock",
		fr.Clock(12, 12): "à 12 h",
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// Every label that the program asks for by a literal key is there, and gets as
// many arguments as it takes.
func TestEveryLabelAskedForIsThere(t *testing.T) {
	labels := maps.Clone(all()["en"].book.Labels)
	maps.Copy(labels, all()["en"].book.Cautions)
	maps.Copy(labels, all()["en"].book.Page)
	asked := 0
	eachCall(t, func(path string, method *ast.SelectorExpr, call *ast.CallExpr) {
		if method.Sel.Name != "Say" {
			return
		}
		literal, ok := call.Args[0].(*ast.BasicLit)
		if !ok || literal.Kind != token.STRING {
			return
		}
		key, _ := strconv.Unquote(literal.Value)
		asked++
		label, there := labels[key]
		if !there {
			t.Errorf("%s asks for the label %q, which no language has", path, key)
		} else if takes := len(verb.FindAllString(label, -1)); takes != len(call.Args)-1 && !call.Ellipsis.IsValid() {
			t.Errorf("%s gives the label %q %d arguments, it takes %d", path, key, len(call.Args)-1, takes)
		}
	})
	if asked == 0 {
		t.Error("no label is asked for anywhere: this test looks in the wrong place")
	}
}

func FuzzFind(f *testing.F) {
	for _, s := range []string{"roots", "roots, heavy", "Distance (m)", "grade", "\xff", "ß", "…"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if key, ok := FindKind(s); ok && !slices.Contains(Kinds(), key) {
			t.Errorf("FindKind(%q) = %q", s, key)
		}
		for _, c := range FindColumn(s) {
			if !slices.Contains(Columns(), c) {
				t.Errorf("FindColumn(%q) holds %q", s, c)
			}
		}
	})
}

// Words of other languages that the program recognizes stand in their files and not in Go:
// a list there would be forgotten when a language is added.
func TestNoOtherLanguagesWordsStandInGo(t *testing.T) {
	english, err := files.ReadFile("en.toml")
	if err != nil {
		t.Fatal(err)
	}
	known := map[string]bool{}
	for _, w := range strings.FieldsFunc(strings.ToLower(string(english)), func(r rune) bool { return !unicode.IsLetter(r) }) {
		known[w] = true
	}
	foreign := map[string]string{}
	for _, tag := range Tags()[1:] {
		b := all()[tag].book
		groups := [][]string{b.To, b.Leads, b.Joiners, b.List, b.Rows, b.Address, b.Months3, b.Time.Before, b.Time.Behind, b.Time.Morning, b.Time.Afternoon}
		for _, each := range []map[string][]string{b.Columns, b.Clock, b.Units, b.Time.Units} {
			groups = slices.AppendSeq(groups, maps.Values(each))
		}
		for _, group := range groups {
			for _, w := range strings.Fields(strings.ToLower(strings.Join(group, " "))) {
				if len(w) > 3 && !known[w] {
					foreign[w] = tag
				}
			}
		}
	}
	looked := 0
	err = filepath.WalkDir("../..", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || filepath.Ext(path) != ".go" || strings.HasSuffix(path, "_test.go") || strings.Contains(path, "/scripts/") || strings.Contains(path, "/build/") {
			return err
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
		if err != nil {
			return nil // the compiler says it better
		}
		ast.Inspect(file, func(n ast.Node) bool {
			if l, ok := n.(*ast.BasicLit); ok && l.Kind == token.STRING {
				for _, w := range strings.FieldsFunc(strings.ToLower(l.Value), func(r rune) bool { return !unicode.IsLetter(r) }) {
					looked++
					if tag := foreign[w]; tag != "" {
						t.Errorf("%s: %q is a word of %s.toml: %s", path, w, tag, l.Value)
					}
				}
			}
			return true
		})
		return nil
	})
	if err != nil || looked < 10000 || foreign["zeile"] == "" {
		t.Errorf("%v: only %d words were looked at", err, looked)
	}
}
