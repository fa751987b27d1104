package houserules

import (
	"fmt"
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"maps"
	"os"
	"os/exec"
	"path"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// wordsOwners put things into words, or own a unit: lengths, moments, a language, what a
// row of the log says, what programs read.
var wordsOwners = []string{"timeline/wording", "timeline/distance", "timeline/timecode", "timeline/words", "timeline/fieldlog", "timeline/document"}

// worded are functions and fields whose use puts a length, a date, a time of day or the
// name of an observation into words. The keys are as types.Object prints them, without
// the module's name.
var worded = map[string]string{
	"(timeline/distance.Metres).Format":   "a length",
	"(timeline/distance.Metres).Shown":    "a length",
	"(time.Time).Format":                  "a time",
	"(time.Time).AppendFormat":            "a time",
	"(time.Time).String":                  "a time",
	"(*timeline/words.Language).Clock":    "a clock position",
	"timeline/words.ClockHour":            "a clock position",
	"(*timeline/words.Language).Date":     "a date",
	"(*timeline/words.Language).DateTime": "a time",
	"(*timeline/words.Language).Kind":     "an observation's name",
	"(*timeline/words.Language).Means":    "an observation's name",
	"(*timeline/words.Language).Urgency":  "advice",
	"field timeline/fieldlog.Kind.Text":   "an observation's name",
	"field timeline/fieldlog.Kind.Key":    "an observation's name",
	"field timeline/fieldlog.Row.Note":    "an observation's note",
	"field timeline/fieldlog.Row.Urgency": "advice",
}

// byHand matches format strings and texts that make a length or a time of day by hand.
var byHand = []struct {
	what    string
	pattern *regexp.Regexp
}{
	{"a length", regexp.MustCompile(`%[-+ 0-9.]*[fgvds] ?(m|ft|cm|km)([^\w/]|$)`)},
	{"a length", regexp.MustCompile(`^ ?(m|ft)$`)},
	{"a time", regexp.MustCompile(`%0?2?d:%02d`)},
}

// mayWord are the places outside wordsOwners that may, and why.
var mayWord = map[string]string{
	"timeline: (timeline/distance.Metres).Shown":                    "its warnings and reasons are sentences, which a language puts into words later",
	"timeline/jobsheet: (timeline/distance.Metres).Shown":           "faults of the job sheet, likewise",
	"internal/review/pointing.go: (timeline/distance.Metres).Shown": "what is asked about a typed length, likewise",

	"timeline/jobsheet: (timeline/distance.Metres).Format":                         "a value as the job sheet writes it",
	"timeline/jobsheet/value.go: (time.Time).Format":                               "a value as the job sheet writes it",
	"timeline/jobsheet/value.go: \"a length without a unit: write %s m or %s ft\"": "what may be written in the job sheet",
	"timeline/remarks.go: (timeline/distance.Metres).Format":                       "a line to be copied into the job sheet",
	"timeline/agreement.go: (time.Time).Format":                                    "a time to be copied into the job sheet",
	"internal/review/ways.go: (timeline/distance.Metres).Format":                   "a value that goes into edits.jsonl",
	"internal/handover/bag/write.go: (time.Time).Format":                           "the archive format's own date (RFC 8493)",
	"subtitles/ass.go: \"%d:%02d:%02d.%02d\"":                                      "the subtitle format's own time",

	"timeline/remarks.go: timeline/words.Tell":                   "a speed",
	"internal/placing/sighting/confirm.go: timeline/words.Plain": "what the recorder's counter shows, in its own unit and digits",
	"internal/placing/sighting/watch.go: fmt.Sprint":             "the key of a cached reading",

	"timeline/clock/say.go: (time.Time).Format":                "times of the log's clock, in warnings about the clock",
	"timeline/recorder.go: (time.Time).Format":                 "a date that was ignored, in the warning that says so",
	"timeline/edits/warn.go: (time.Time).Format":               "when a correction was made, in the warning that it doesn't fit",
	"internal/handover/edition/edition.go: (time.Time).Format": "a day as the book of editions keeps it",
	"internal/handover/editions.go: (time.Time).Format":        "a day as the book of editions keeps it",
	"cmd/pushcue/editions.go: (time.Time).Format":              "when a copy left the house, which no timeline tells",
	"timeline/explain.go: field timeline/fieldlog.Kind.Text":   "repeats what a row of the log says, word for word",

	"internal/handover/buyer.go: field timeline/fieldlog.Kind.Text":  "looks for contact data in it",
	"internal/handover/buyer.go: field timeline/fieldlog.Row.Note":   "looks for contact data in it",
	"internal/placing/attached.go: field timeline/fieldlog.Kind.Key": "compares it with the names of files",
	"internal/review/state.go: (*timeline/words.Language).Kind":      "the kinds that a person may choose from",
	"internal/review/state.go: (*timeline/words.Language).Urgency":   "the urgencies that a person may choose from",
}

// planted is a file of the package subtitles that words a timeline in each forbidden way.
const planted = `package subtitles

import (
	"fmt"
	"strconv"
	"time"

	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/words"
)

func plantedWording(o *timeline.Observation, l *words.Language, at time.Time) string {
	name := o.Entry.What.Text
	if o.Entry.What.Key != "" {
		name = l.Kind(o.Entry.What.Key)
	}
	return fmt.Sprint(name, o.Entry.Note, o.Entry.Urgency, o.Distance.Format(distance.Metre, '.'), o.Distance.Shown(distance.Metre),
		fmt.Sprintf("%.1f m", float64(*o.Distance)), strconv.FormatFloat(float64(*o.Track), 'f', 1, 64), fmt.Sprint(at), fmt.Sprintf("%d:%02d", 5, 14), at.Format(time.TimeOnly), l.Date(at), l.Clock(3, 3), l.Urgency("watch"))
}
`

// A use is a place in the product at which something is put into words.
type use struct {
	file, what, kind string
	line             int
}

func TestOnePackageWordsATimeline(t *testing.T) {
	const plantedName = "subtitles/planted.go"
	found, kinds := map[string]bool{}, map[string]int{}
	for _, u := range wordings(t, map[string]string{plantedName: planted}) {
		if u.file == plantedName {
			kinds[u.kind]++
			continue
		}
		if under(path.Dir(u.file), wordsOwners...) {
			continue
		}
		allowed := ""
		for _, place := range []string{u.file + ": " + u.what, path.Dir(u.file) + ": " + u.what} {
			if mayWord[place] != "" {
				allowed = place
			}
		}
		if allowed == "" {
			t.Errorf("%s:%d puts %s into words (%s): ask timeline/wording", u.file, u.line, u.kind, u.what)
		}
		found[allowed] = true
	}
	want := map[string]int{"a length": 5, "a time": 3, "a date": 1, "a clock position": 1, "an observation's name": 3, "an observation's note": 1, "advice": 2}
	if !maps.Equal(kinds, want) {
		t.Errorf("planted wordings: %v found, want %v", kinds, want)
	}
	for place := range mayWord {
		if !found[place] {
			t.Errorf("%s doesn't happen any more: take it off the list", place)
		}
	}
}

// wordings type-checks the product and returns each use of worded and byHand in it.
// planted are files to be looked at too, by name.
func wordings(t *testing.T, planted map[string]string) []use {
	t.Helper()
	list := exec.Command("go", "list", "-export", "-deps", "-f", "{{.ImportPath}}\t{{.Export}}\t{{.Dir}}\t{{range .GoFiles}}{{.}} {{end}}", "./cmd/...")
	list.Dir = root
	out, err := list.Output()
	if err != nil {
		t.Fatal(err)
	}
	exports := map[string]string{}
	var ours [][]string // import path and names of files
	for _, line := range strings.Split(strings.TrimSpace(string(out)), "\n") {
		f := strings.Split(line, "\t")
		exports[f[0]] = f[1]
		if folder, is := strings.CutPrefix(f[0], module); is {
			names := []string{folder}
			for _, name := range strings.Fields(f[3]) {
				names = append(names, folder+"/"+name)
			}
			ours = append(ours, names)
		}
	}
	set := token.NewFileSet()
	imports := importer.ForCompiler(set, "gc", func(path string) (io.ReadCloser, error) { return os.Open(exports[path]) })
	var all []use
	for _, p := range ours {
		if under(p[0], notProduct...) {
			continue
		}
		var trees []*ast.File
		for _, name := range p[1:] {
			trees = append(trees, parsedWhole(t, set, name, text(t, name)))
		}
		for name, content := range planted {
			if path.Dir(name) == p[0] {
				trees = append(trees, parsedWhole(t, set, name, content))
			}
		}
		info := &types.Info{Uses: map[*ast.Ident]types.Object{}, Selections: map[*ast.SelectorExpr]*types.Selection{}, Types: map[ast.Expr]types.TypeAndValue{}}
		if _, err := (&types.Config{Importer: imports}).Check(module+p[0], set, trees, info); err != nil {
			t.Fatal(err)
		}
		for _, tree := range trees {
			all = append(all, usesIn(set, tree, info)...)
		}
	}
	return all
}

func parsedWhole(t *testing.T, set *token.FileSet, name, content string) *ast.File {
	t.Helper()
	tree, err := parser.ParseFile(set, name, content, parser.SkipObjectResolution)
	if err != nil {
		t.Fatal(err)
	}
	return tree
}

// usesIn returns the uses in a file. A field that is only compared, looked up or assigned to isn't put
// into words.
func usesIn(set *token.FileSet, tree *ast.File, info *types.Info) []use {
	var all []use
	add := func(n ast.Node, what, kind string) {
		at := set.Position(n.Pos())
		all = append(all, use{at.Filename, what, kind, at.Line})
	}
	silent := map[ast.Expr]bool{}
	ast.Inspect(tree, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.BinaryExpr:
			if n.Op == token.EQL || n.Op == token.NEQ {
				silent[n.X], silent[n.Y] = true, true
			}
		case *ast.SwitchStmt:
			silent[n.Tag] = true
		case *ast.IndexExpr:
			silent[n.Index] = true
		case *ast.AssignStmt:
			for _, to := range n.Lhs {
				silent[to] = true
			}
		case *ast.SelectorExpr:
			if what, kind := wordedBy(n, info); kind != "" && !silent[n] {
				add(n, what, kind)
			}
		case *ast.CallExpr:
			if f := printer(n, info); f != "" {
				for _, arg := range n.Args {
					if kind := printed[strings.TrimPrefix(fmt.Sprint(info.Types[converted(arg, info)].Type), module)]; kind != "" {
						add(arg, f, kind)
					}
				}
			}
		case *ast.BasicLit:
			if n.Kind != token.STRING {
				break
			}
			text, _ := strconv.Unquote(n.Value)
			for _, hand := range byHand {
				if hand.pattern.MatchString(text) {
					add(n, strconv.Quote(text), hand.what)
				}
			}
		}
		return true
	})
	return all
}

// printed are types whose values are text once they are printed.
var printed = map[string]string{"timeline/distance.Metres": "a length", "time.Time": "a time"}

// printer names the function of a call that makes text of its arguments; "" for others.
func printer(call *ast.CallExpr, info *types.Info) string {
	n, is := call.Fun.(*ast.SelectorExpr)
	if !is {
		return ""
	}
	f, is := info.Uses[n.Sel].(*types.Func)
	if !is || f.Pkg() == nil || f.Signature().Recv() != nil {
		return ""
	}
	switch f.Pkg().Path() {
	case "fmt", "strconv", module + "timeline/words":
		return strings.ReplaceAll(f.FullName(), module, "")
	}
	return ""
}

// converted is an expression without the conversions and the parentheses round it.
func converted(e ast.Expr, info *types.Info) ast.Expr {
	for {
		switch n := e.(type) {
		case *ast.ParenExpr:
			e = n.X
			continue
		case *ast.CallExpr:
			if info.Types[n.Fun].IsType() && len(n.Args) == 1 {
				e = n.Args[0]
				continue
			}
		}
		return e
	}
}

// wordedBy names what a selector uses, and what kind of wording that is; "" for none.
func wordedBy(n *ast.SelectorExpr, info *types.Info) (what, kind string) {
	object := info.Uses[n.Sel]
	switch o := object.(type) {
	case *types.Func:
		what = strings.ReplaceAll(o.FullName(), module, "")
	case *types.Var:
		s := info.Selections[n]
		if s == nil || !o.IsField() {
			return "", ""
		}
		named, is := types.Unalias(deref(s.Recv())).(*types.Named)
		if !is {
			return "", ""
		}
		what = fmt.Sprintf("field %s.%s", strings.TrimPrefix(named.Obj().Pkg().Path(), module)+"."+named.Obj().Name(), o.Name())
	}
	return what, worded[what]
}

func deref(t types.Type) types.Type {
	if p, is := t.(*types.Pointer); is {
		return p.Elem()
	}
	return t
}

// A browser words no observation either: the review page's program tells it how a row is
// called, where it is, how sure that is and what is advised.
func TestTheReviewPageWordsNoObservation(t *testing.T) {
	const web = "internal/review/page/web/"
	forbidden := regexp.MustCompile(`\b(o|u|row|r)\.(what|kind|note|distance_m|distance_to_m|track_m|uncertainty_s|true_time)\b|\blength\(\w+\.|[^\w]toFixed\(|["\x60] (m|ft)["\x60]`)
	mayUse := map[string]string{
		"chart.js":  "draws where observations are",
		"format.js": "numbers of the moment shown, as every output writes them",
		"watch.js":  "the distance of the moment shown, which moves with the picture",
	}
	used := map[string]bool{}
	for _, name := range files(t, func(n string) bool { return strings.HasPrefix(n, web) && path.Ext(n) == ".js" }) {
		for i, line := range strings.Split(text(t, name), "\n") {
			if found := forbidden.FindString(line); found != "" {
				if used[path.Base(name)] = true; mayUse[path.Base(name)] == "" {
					t.Errorf("%s:%d words an observation (%s): take it from saidOf", name, i+1, found)
				}
			}
		}
	}
	for name := range mayUse {
		if !used[name] {
			t.Errorf("%s words nothing any more: take it off the list", name)
		}
	}
}
