package houserules

import (
	"go/ast"
	"testing"
)

// openers are the calls that open a file, or read one whole, wherever its path leads.
var openers = []string{"os.Open", "os.ReadFile", "os.DirFS", "zip.OpenReader", "xlsx.OpenFile", "excelize.OpenFile", "toml.DecodeFile", "imaging.Open"}

// mayOpen are files of the product that open what no job, drive or archive can name.
var mayOpen = map[string]string{
	"cmd/pushcue/eject_linux.go":              "the kernel's list of mounts",
	"internal/review/mounted_linux.go":        "the kernel's list of mounts",
	"internal/handover/drive/facts_linux.go":  "a drive's own folder, to flush it",
	"internal/handover/drive/facts_darwin.go": "a drive's own folder, to flush it",
	"internal/handover/drive/folder.go":       "lists a folder on a drive, and opens nothing in it",
	"internal/ffmpeg/account_linux.go":        "the kernel's accounts of a child",
	"internal/ffmpeg/identity_windows.go":     "the programs themselves, to know them again",
}

// A job's files are opened by internal/reach alone, which decides how far a job may
// reach, and never waits for a pipe.
func TestOnePackageOpensFiles(t *testing.T) {
	used := map[string]bool{}
	for _, s := range sources(t, false) {
		makers := []string{"scripts", "internal/footage", "internal/testfootage", "internal/testbrowser", "internal/testdrive", "internal/framenumber",
			"internal/counterset", "internal/soak", "internal/houserules"}
		if under(s.folder, append(makers, "internal/reach")...) {
			continue
		}
		ast.Inspect(s.tree, func(n ast.Node) bool {
			call, isCall := n.(*ast.CallExpr)
			if !isCall {
				return true
			}
			for _, opener := range openers {
				if calls(call, opener) {
					if used[s.name] = true; mayOpen[s.name] == "" {
						t.Errorf("%s:%d calls %s: open it through internal/reach", s.name, s.line(n), opener)
					}
				}
			}
			return true
		})
	}
	for name := range mayOpen {
		if !used[name] {
			t.Errorf("%s opens nothing any more: take it off the list", name)
		}
	}
	if len(used) == 0 {
		t.Error("no call was found")
	}
}

// calls reports a call of a package's function, written "os.Open".
func calls(call *ast.CallExpr, function string) bool {
	sel, ok := call.Fun.(*ast.SelectorExpr)
	if !ok {
		return false
	}
	pkg, ok := sel.X.(*ast.Ident)
	return ok && pkg.Name+"."+sel.Sel.Name == function
}
