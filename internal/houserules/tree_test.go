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
	"testing"
)

const root = "../.."

// skipped are folders that aren't ours to judge, or hold what tests are fed.
var skipped = map[string]bool{".git": true, "build": true, "node_modules": true, "testdata": true}

// files returns the paths of all files kept in the repository, with forward
// slashes, relative to its root.
func files(t *testing.T, keep func(name string) bool) []string {
	t.Helper()
	var all []string
	err := filepath.WalkDir(root, func(full string, d fs.DirEntry, err error) error {
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
		if rel = filepath.ToSlash(rel); err == nil && keep(rel) {
			all = append(all, rel)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(all) == 0 {
		t.Fatal("found no files to look at")
	}
	return all
}

func isGo(name string) bool { return strings.HasSuffix(name, ".go") }

func isTest(name string) bool { return strings.HasSuffix(name, "_test.go") }

func text(t *testing.T, name string) string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(root, filepath.FromSlash(name)))
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
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

func sources(t *testing.T, tests bool) []source {
	t.Helper()
	var all []source
	for _, name := range files(t, isGo) {
		if isTest(name) && !tests {
			continue
		}
		set := token.NewFileSet()
		tree, err := parser.ParseFile(set, name, text(t, name), parser.ParseComments)
		if err != nil {
			t.Error(err)
			continue
		}
		all = append(all, source{name, path.Dir(name), tree, set})
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
