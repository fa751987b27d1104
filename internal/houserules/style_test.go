package houserules

import (
	"go/ast"
	"go/format"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"testing"
)

const longest = 600 // lines of a file

func TestFormatted(t *testing.T) {
	for _, name := range files(t, isGo) {
		was := text(t, name)
		if is, err := format.Source([]byte(was)); err != nil || string(is) != was {
			t.Errorf("%s isn't as gofmt writes it", name)
		}
	}
}

func TestNoFileIsTooLong(t *testing.T) {
	for _, name := range files(t, func(n string) bool { return isGo(n) || path.Ext(n) == ".js" || path.Ext(n) == ".css" }) {
		if lines := strings.Count(text(t, name), "\n"); lines > longest {
			t.Errorf("%s has %d lines; %d is the most", name, lines, longest)
		}
	}
}

func TestEveryPackageSaysWhatItIs(t *testing.T) {
	says := map[string]bool{}
	for _, s := range sources(t, false) {
		begins := "Package " + s.tree.Name.Name + " "
		if s.tree.Name.Name == "main" {
			begins = "Command " + path.Base(s.folder) + " "
		}
		says[s.folder] = says[s.folder] || strings.HasPrefix(s.tree.Doc.Text(), begins)
	}
	for folder, does := range says {
		if !does {
			t.Errorf("%s has no comment that says what the package is", folder)
		}
	}
}

func TestContextComesFirst(t *testing.T) {
	for _, s := range sources(t, false) {
		ast.Inspect(s.tree, func(n ast.Node) bool {
			f, ok := n.(*ast.FuncDecl)
			if !ok {
				return true
			}
			for i, p := range f.Type.Params.List {
				if i > 0 && isContext(p.Type) {
					t.Errorf("%s:%d: %s takes its context late", s.name, s.line(f), f.Name.Name)
				}
			}
			return true
		})
	}
}

func TestNoStructKeepsAContext(t *testing.T) {
	for _, s := range sources(t, false) {
		if under(s.folder, "internal/testbrowser") {
			continue
		}
		ast.Inspect(s.tree, func(n ast.Node) bool {
			if f, ok := n.(*ast.StructType); ok {
				for _, p := range f.Fields.List {
					if isContext(p.Type) {
						t.Errorf("%s:%d: a struct keeps a context", s.name, s.line(p))
					}
				}
			}
			return true
		})
	}
}

func isContext(e ast.Expr) bool {
	sel, ok := e.(*ast.SelectorExpr)
	if !ok {
		return false
	}
	pkg, ok := sel.X.(*ast.Ident)
	return ok && pkg.Name == "context" && sel.Sel.Name == "Context"
}

func TestTestsDoNotSleep(t *testing.T) {
	for _, s := range sources(t, true) {
		// A fake of another program may have to hang.
		if strings.HasPrefix(path.Base(s.name), "fake_") {
			continue
		}
		if isTest(s.name) && strings.Contains(text(t, s.name), "time."+"Sleep(") {
			t.Errorf("%s sleeps: wait for what it waits for", s.name)
		}
	}
}

// ofAMachine are words that belong to somebody's machine, not to the project, in lower
// case. They are put together here so that this file doesn't hold them. One pattern for each: a
// search for a pattern that begins with fixed text is quick, and one for several isn't.
var ofAMachine = func() (all []*regexp.Regexp) {
	for _, pattern := range []string{
		`/wo` + `rk/(main|shared|\.)`, `/tmp/pl` + `an`, `/home/[a-z]+/`, `c:\\users\\[a-z]`,
		`npmjs\.(org|com)`, `pypi\.org`, `proxy\.golang`, `deb\.debian\.org`, `"resolved":`,
	} {
		all = append(all, regexp.MustCompile(pattern))
	}
	return all
}()

func TestNothingOfAMachineIsKept(t *testing.T) {
	names := files(t, func(n string) bool { return n != "internal/houserules/style_test.go" })
	names = append(names, "testdata/node/package-lock.json", "testdata/node/package.json", "testdata/demo/job.toml")
	for _, name := range names {
		lower := strings.ToLower(text(t, name))
		for _, pattern := range ofAMachine {
			if !pattern.MatchString(lower) {
				continue
			}
			for i, line := range strings.Split(lower, "\n") {
				if found := pattern.FindString(line); found != "" && !strings.Contains(line, "example") {
					t.Errorf("%s:%d: %q", name, i+1, found)
				}
			}
		}
	}
}

func TestScriptsCanBeRun(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("no such bit there")
	}
	for _, name := range files(t, func(n string) bool { return path.Dir(n) == "scripts" || path.Dir(n) == ".ci" }) {
		info, err := os.Stat(filepath.Join(root, name))
		if err != nil {
			t.Fatal(err)
		}
		if info.Mode()&0o111 == 0 || !strings.HasPrefix(text(t, name), "#!/bin/sh\n") {
			t.Errorf("%s can't be run by itself", name)
		}
	}
}
