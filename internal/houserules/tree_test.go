package houserules

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
	"sync"
	"testing"
)

const root = "../.."

// skipped are folders that aren't ours to judge, or hold what tests are fed.
var skipped = map[string]bool{".git": true, "build": true, "node_modules": true, "testdata": true}

// files returns the paths of all files kept in the repository, with forward
// slashes, relative to its root.
func files(t *testing.T, keep func(name string) bool) []string {
	t.Helper()
	names, err := walked()
	if err != nil {
		t.Fatal(err)
	}
	var kept []string
	for _, name := range names {
		if keep(name) {
			kept = append(kept, name)
		}
	}
	if len(kept) == 0 {
		t.Fatal("found no files to look at")
	}
	return kept
}

// walked lists the repository's files once.
var walked = sync.OnceValues(func() (all []string, err error) {
	err = filepath.WalkDir(root, func(full string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if skipped[d.Name()] { // .git is a file where the tree is one of several of a repository
			if d.IsDir() {
				return fs.SkipDir
			}
			return nil
		}
		if d.IsDir() {
			return nil
		}
		rel, err := filepath.Rel(root, full)
		all = append(all, filepath.ToSlash(rel))
		return err
	})
	return all, err
})

func isGo(name string) bool { return strings.HasSuffix(name, ".go") }

func isTest(name string) bool { return strings.HasSuffix(name, "_test.go") }

// read holds what was read of the repository's files, by name.
var read = map[string]string{}

func text(t *testing.T, name string) string {
	t.Helper()
	if known, ok := read[name]; ok {
		return known
	}
	b, err := os.ReadFile(filepath.Join(root, filepath.FromSlash(name)))
	if err != nil {
		t.Fatal(err)
	}
	read[name] = string(b)
	return read[name]
}

// A source is a Go file.
type source struct {
	name, folder string
	tree         *ast.File
	set          *token.FileSet
}

func (s source) imports() []string {
	var all []string
	for _, i := range s.tree.Imports {
		all = append(all, strings.Trim(i.Path.Value, `"`))
	}
	return all
}

func (s source) line(n ast.Node) int { return s.set.Position(n.Pos()).Line }

// parsed holds every Go file of the repository, parsed by the first test that asks.
var parsed []source

func sources(t *testing.T, tests bool) []source {
	t.Helper()
	if parsed == nil {
		for _, name := range files(t, isGo) {
			set := token.NewFileSet()
			tree, err := parser.ParseFile(set, name, text(t, name), parser.ParseComments|parser.SkipObjectResolution)
			if err != nil {
				t.Error(err)
				continue
			}
			parsed = append(parsed, source{name, path.Dir(name), tree, set})
		}
	}
	if tests {
		return parsed
	}
	var all []source
	for _, s := range parsed {
		if !isTest(s.name) {
			all = append(all, s)
		}
	}
	return all
}

// under tells whether a folder or import path is one of the roots or below it.
func under(folder string, roots ...string) bool {
	for _, r := range roots {
		if folder == r || strings.HasPrefix(folder, r+"/") {
			return true
		}
	}
	return false
}
