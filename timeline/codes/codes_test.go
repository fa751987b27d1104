package codes_test

import (
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pushcue/timeline/codes"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/words"
)

var update = flag.Bool("update", false, "write warnings.md anew")

// names maps the constants of codes.go to the codes themselves.
func names(t *testing.T) map[string]codes.Code {
	t.Helper()
	file, err := parser.ParseFile(token.NewFileSet(), "codes.go", nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	found := map[string]codes.Code{}
	for _, d := range file.Decls {
		g, ok := d.(*ast.GenDecl)
		if !ok || g.Tok != token.CONST {
			continue
		}
		for _, s := range g.Specs {
			v := s.(*ast.ValueSpec)
			if typed, ok := v.Type.(*ast.Ident); ok && typed.Name == "Code" {
				found[v.Names[0].Name] = codes.Code(strings.Trim(v.Values[0].(*ast.BasicLit).Value, `"`))
			}
		}
	}
	if len(found) < 50 {
		t.Fatalf("only %d constants were found", len(found))
	}
	return found
}

// A use is what the product's code does with the codes.
type use struct {
	raised map[string]bool // constants that are handed on, not only compared
	faults []string
}

// look goes through one file.
func (u *use) look(file *ast.File, set *token.FileSet, of map[string]codes.Code) {
	fault := func(at ast.Node, format string, args ...any) {
		u.faults = append(u.faults, fmt.Sprintf("%s: %s", set.Position(at.Pos()), fmt.Sprintf(format, args...)))
	}
	constant := func(e ast.Expr) string {
		if s, ok := e.(*ast.SelectorExpr); ok {
			if x, ok := s.X.(*ast.Ident); ok && x.Name == "codes" {
				return s.Sel.Name
			}
		}
		return ""
	}
	written := func(e ast.Expr) bool { // holds a text in quotes
		found := false
		ast.Inspect(e, func(n ast.Node) bool {
			l, ok := n.(*ast.BasicLit)
			found = found || ok && l.Kind == token.STRING
			return !found
		})
		return found
	}
	compared := map[ast.Node]bool{}
	ast.Inspect(file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.BinaryExpr:
			if n.Op == token.EQL || n.Op == token.NEQ {
				compared[n.X], compared[n.Y] = true, true
			}
		case *ast.CaseClause:
			for _, e := range n.List {
				compared[e] = true
			}
		case *ast.CallExpr:
			if constant(n.Fun) == "Code" && written(n.Args[0]) {
				fault(n, "a code is made up here; take one from the registry")
			}
		case *ast.AssignStmt:
			if s, ok := n.Lhs[0].(*ast.SelectorExpr); ok && s.Sel.Name == "Code" && written(n.Rhs[0]) {
				fault(n, "a code is written out here; take its constant")
			}
		case *ast.CompositeLit:
			switch kind := n.Type.(type) { // nil: the type stands before, as in []timeline.Warning{{…}}
			case *ast.Ident:
				if kind.Name != "Warning" {
					return true
				}
			case *ast.SelectorExpr:
				if kind.Sel.Name != "Warning" {
					return true
				}
			}
			code, unsettled := "", false
			for _, e := range n.Elts {
				kv, ok := e.(*ast.KeyValueExpr)
				if !ok {
					continue
				}
				switch key, _ := kv.Key.(*ast.Ident); {
				case key == nil:
				case key.Name == "Code" && written(kv.Value):
					fault(kv, "a code is written out here; take its constant")
				case key.Name == "Code":
					code = constant(kv.Value)
				case key.Name == "Unsettled":
					unsettled = true
				}
			}
			if info, _ := of[code].Info(); code != "" && unsettled && info.Open != codes.ByCase {
				fault(n, "the registry says that %s is open: %s; this warning can't say otherwise", of[code], info.Open)
			}
		case *ast.SelectorExpr:
			if name := constant(n); name != "" && !compared[n] {
				u.raised[name] = true
			}
		}
		return true
	})
}

func TestEveryWarningIsRegisteredAndEveryRegisteredOneIsRaised(t *testing.T) {
	of := names(t)
	u := use{raised: map[string]bool{}}
	for _, folder := range []string{"cmd", "timeline", "frames", "overlay", "subtitles", "internal"} {
		err := filepath.WalkDir(filepath.Join("../..", folder), func(name string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || filepath.Ext(name) != ".go" || strings.HasSuffix(name, "_test.go") || filepath.Base(filepath.Dir(name)) == "codes" {
				return err
			}
			set := token.NewFileSet()
			file, err := parser.ParseFile(set, name, nil, 0)
			if err == nil {
				u.look(file, set, of)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, f := range u.faults {
		t.Error(f)
	}
	for name, code := range of {
		if _, there := code.Info(); !there {
			t.Errorf("%s has no entry in the registry", code)
		}
		if !u.raised[name] {
			t.Errorf("nothing raises %s", code)
		}
	}
	if len(of) != len(codes.Codes()) {
		t.Errorf("%d codes, %d entries", len(of), len(codes.Codes()))
	}
}

func TestTheSearchFindsWhatItForbids(t *testing.T) {
	const source = `package x
var a = timeline.Warning{Code: "made-up"}
var b = timeline.Warning{Code: kind + "-missing"}
var c = codes.Code("made-up")
var d = timeline.Warning{Code: codes.LogMissing, Unsettled: true}
func e() { w.Code = "made-up"; if w.Code == codes.ZoneAssumed { return } }
var f = timeline.Warning{Code: codes.CounterReset, Unsettled: true}
`
	set := token.NewFileSet()
	file, err := parser.ParseFile(set, "x.go", source, 0)
	if err != nil {
		t.Fatal(err)
	}
	u := use{raised: map[string]bool{}}
	u.look(file, set, names(t))
	var lines []string
	for _, f := range u.faults {
		lines = append(lines, strings.Split(f, ":")[1])
	}
	slices.Sort(lines)
	if got := strings.Join(lines, " "); got != "2 3 4 5 6" {
		t.Errorf("faults were found in lines %s: %q", got, u.faults)
	}
	if u.raised["ZoneAssumed"] || !u.raised["LogMissing"] {
		t.Errorf("raised: %v", u.raised)
	}
}

func TestEveryEntryIsComplete(t *testing.T) {
	all := codes.Codes()
	for i, info := range all {
		if i > 0 && all[i-1].Code >= info.Code {
			t.Errorf("%s isn't in its place", info.Code)
		}
		if !slices.Contains([]codes.Openness{codes.Always, codes.Never, codes.ByCase}, info.Open) || len(info.Affects) == 0 {
			t.Errorf("%s: %q, affects %q", info.Code, info.Open, info.Affects)
		}
		for _, key := range append(slices.Clone(info.Fields), info.Assumed) {
			if key != "" && !slices.Contains(jobsheet.Keys(), key) {
				t.Errorf("%s: the job sheet has no field %s", info.Code, key)
			}
		}
		for _, tag := range words.Tags() {
			l, err := words.For(tag)
			if err != nil {
				t.Fatal(err)
			}
			if l.Review()[info.Code.Title()] == "" {
				t.Errorf("%s has no title in %s", info.Code, tag)
			}
			if info.Customer != "" && strings.HasPrefix(l.Say(info.Customer), "[") {
				t.Errorf("%s: no label %s in %s", info.Code, info.Customer, tag)
			}
		}
	}
	for key := range words.English().Review() {
		if code, isTitle := strings.CutPrefix(key, "warn-"); isTitle {
			if _, there := codes.Code(code).Info(); !there {
				t.Errorf("the title %s is of no registered code", key)
			}
		}
	}
}

func TestAnUnregisteredCodeIsKnownAsOne(t *testing.T) {
	if info, there := codes.Code("zz").Info(); there || info.Open != codes.ByCase {
		t.Errorf("%+v", info)
	}
	if info, there := codes.LogMissing.Info(); !there || info.Code != codes.LogMissing {
		t.Errorf("%+v", info)
	}
}

func TestTheTableOfWarningsIsUpToDate(t *testing.T) {
	var b strings.Builder
	b.WriteString("# Warnings\n\nThe codes of warnings in `timeline.json`, `--json` and `edits.jsonl`. A run with an open warning ends\nwith exit code 3. On the review page every warning can also be left as it is.\n\n")
	b.WriteString("| code | what it says | open | affects | settled on the review page | settled in job.toml |\n|---|---|---|---|---|---|\n")
	for _, info := range codes.Codes() {
		var affects, ways, fields []string
		for _, o := range info.Affects {
			affects = append(affects, string(o))
		}
		if info.Assumed != "" {
			ways = append(ways, "confirm the assumed value")
		}
		for _, w := range info.Ways {
			ways = append(ways, string(w))
		}
		for _, f := range append(slices.Clone(info.Fields), info.Assumed) {
			if f != "" && !slices.Contains(fields, "`"+f+"`") {
				fields = append(fields, "`"+f+"`")
			}
		}
		fmt.Fprintf(&b, "| `%s` | %s | %s | %s | %s | %s |\n", info.Code, words.English().Review()[info.Code.Title()], info.Open,
			strings.Join(affects, ", "), strings.Join(ways, "; "), strings.Join(fields, ", "))
	}
	if *update {
		if err := os.WriteFile("warnings.md", []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	text, err := os.ReadFile("warnings.md")
	if err != nil || string(text) != b.String() {
		t.Errorf("warnings.md isn't what the registry says (%v): run go test ./timeline/codes -update", err)
	}
}
