package words

import (
	"encoding/json"
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// timed writes its own decimal mark.
type timed struct{}

func (timed) Marked(mark rune) string { return "0:41" + string(mark) + "5" }

func TestASentenceIsToldInEachLanguage(t *testing.T) {
	inner := Tell("shows the camera standing at %s from %s to %s", Plain("%.1f %s", 12.4, "m"), "0:41.0", "0:47.2")
	for _, c := range []struct {
		tag  string
		told Sentence
		want string
	}{
		{"en", Tell("The track %s.", inner), "The track shows the camera standing at 12.4 m from 0:41.0 to 0:47.2."},
		{"de", Tell("The track %s.", inner), "Der Zählerverlauf zeigt die Kamera stehend bei 12,4 m, von 0:41.0 bis 0:47.2."},
		{"en", Tell("column %s", Quoted("a\"b\u202e")), `column "a\"b\u202e"`},
		{"de", Tell("column %s", Quoted("a\"b\u202e")), "Spalte „a\"b\\u202e“"},
		{"fr", Tell("column %s", Quoted("Cote")), "colonne « Cote »"},
		{"es", Tell("column %s", Quoted("Cota")), "columna «Cota»"},
		{"de", Tell("%d %s %d", 2, time.March, 2026), "2. März 2026"},
		{"en", Tell("%d %s %d", 2, time.March, 2026), "2 March 2026"},
		{"de", Join([]Sentence{Plain("1"), Plain("2"), Plain("3")}, Tell(" or ")), "1 oder 2 oder 3"},
		{"de", Whole(Tell("this isn't a clock position")), "Das ist keine Uhrlage."},
		{"de", Plain("%s: %s", Column("distance"), errors.New("x")), "Entfernung: x"},
		{"de", Of(fmt.Errorf("outer: %w", Errorf("it is empty"))), "outer: it is empty"},
		{"de", Of(Errorf("this isn't a length: %s", Errorf("it holds no number"))), "das ist keine Länge: es steht keine Zahl darin"},
		{"es", Tell("a form that no file has %s", "x"), "a form that no file has x"},
		{"de", Tell("column %s", timed{}), "Spalte 0:41,5"},
		{"en", Tell("column %s", timed{}), "column 0:41.5"},
		{"de", Sentence{}, ""},
	} {
		l, _ := For(c.tag)
		if got := l.Put(c.told); got != c.want {
			t.Errorf("%s: %q, want %q", c.tag, got, c.want)
		}
	}
}

func TestTheFirstNumberTellsOneFromMany(t *testing.T) {
	fr, en := &Language{Tag: "fr", book: book{ZeroIsOne: true}}, &Language{Tag: "en"}
	for _, l := range []*Language{fr, en} {
		l.sentences = map[string][]string{"%d rows of %d": {"%d row of %d", "%d rows of %d"}}
	}
	for want, got := range map[string]string{
		"1 row of 7": en.Put(Tell("%d rows of %d", 1, 7)), "0 rows of 7": en.Put(Tell("%d rows of %d", 0, 7)), "2 rows of 1": en.Put(Tell("%d rows of %d", 2, 1)),
		"0 row of 7": fr.Put(Tell("%d rows of %d", 0, 7)),
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

func TestASentenceComesBackFromAFile(t *testing.T) {
	de, _ := For("de")
	for _, s := range []Sentence{{}, Tell("it holds no number"), Tell("this isn't a length: %s", "12 x"), Tell("row %d", 3)} {
		text, err := json.Marshal(s)
		if err != nil {
			t.Fatal(err)
		}
		var back Sentence
		if err := json.Unmarshal(text, &back); err != nil || !back.Equal(s) {
			t.Errorf("%s: %v, %v, want %v", text, back, err, s)
		}
	}
	var back Sentence
	if err := json.Unmarshal([]byte(`["it holds no number"]`), &back); err != nil || de.Put(back) != "es steht keine Zahl darin" {
		t.Errorf("%q %v", de.Put(back), err)
	}
}

// Every language has every sentence that the program tells, filled with the same, and
// no other; English has those of which one and many differ.
func TestSentencesAgree(t *testing.T) {
	told := toldForms(t)
	for tag, l := range all() {
		if diff := cmp.Diff(slices.Sorted(maps.Keys(told)), slices.Sorted(maps.Keys(l.sentences))); diff != "" && tag != "en" {
			t.Errorf("%s: sentences (-told +there):\n%s", tag, diff)
		}
		for form, in := range l.sentences {
			if !told[form] {
				t.Errorf("%s: nothing tells %q", tag, form)
			}
			want := verb.FindAllString(form, -1)
			for _, text := range in {
				got := verb.FindAllString(text, -1)
				if strings.Contains(text, "%[") {
					slices.Sort(got)
					slices.Sort(want)
				}
				if !slices.Equal(want, got) {
					t.Errorf("%s: %q takes %q, in English %q", tag, text, got, want)
				}
			}
		}
	}
}

// toldForms are the English forms of all sentences, which stand in the code word for word.
func toldForms(t *testing.T) map[string]bool {
	forms := map[string]bool{}
	eachCall(t, func(path string, maker *ast.SelectorExpr, call *ast.CallExpr) {
		if maker.Sel.Name != "Tell" && maker.Sel.Name != "Errorf" {
			return
		}
		if pkg, isName := maker.X.(*ast.Ident); !isName || pkg.Name != "words" {
			return
		}
		literal, isLiteral := call.Args[0].(*ast.BasicLit)
		if !isLiteral {
			t.Errorf("%s tells a sentence whose form doesn't stand there word for word", path)
			return
		}
		form, _ := strconv.Unquote(literal.Value)
		forms[form] = true
	})
	if len(forms) == 0 {
		t.Fatal("no sentence was found")
	}
	return forms
}

// eachCall looks at each call with arguments of something's method or function in the
// program, tests left out.
func eachCall(t *testing.T, look func(path string, called *ast.SelectorExpr, call *ast.CallExpr)) {
	t.Helper()
	err := filepath.WalkDir("../..", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || filepath.Ext(path) != ".go" || strings.HasSuffix(path, "_test.go") {
			return err
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
		if err != nil {
			return nil // the compiler says it better
		}
		ast.Inspect(file, func(n ast.Node) bool {
			call, isCall := n.(*ast.CallExpr)
			if !isCall || len(call.Args) == 0 {
				return true
			}
			if called, named := call.Fun.(*ast.SelectorExpr); named {
				look(path, called, call)
			}
			return true
		})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}
