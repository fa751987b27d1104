package houserules

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"slices"
	"strings"
	"testing"
)

// door is the only package that changes a disk.
const door = "internal/safefile"

// notProduct are folders whose programs never see a user's files: makers of test
// footage, helpers of tests, and scripts that developers run.
var notProduct = []string{
	"scripts", "internal/footage", "internal/testfootage", "internal/testbrowser", "internal/testdrive",
	"internal/counterset", "internal/framenumber", "internal/soak", "internal/houserules",
}

// changing are the functions of each package that change a disk, or that hand out what
// changes one: an *os.Root has methods of the same names.
var changing = map[string][]string{
	"os": {
		"Chmod", "Chown", "Chtimes", "CopyFS", "Create", "CreateTemp", "Lchown", "Link", "Mkdir", "MkdirAll", "MkdirTemp",
		"OpenFile", "OpenInRoot", "OpenRoot", "Remove", "RemoveAll", "Rename", "Symlink", "Truncate", "WriteFile",
	},
	"io/ioutil": {"TempDir", "TempFile", "WriteFile"},
	"syscall": {
		"Chmod", "Creat", "CreateFile", "DeleteFile", "Fchmodat", "Link", "Mkdir", "Mkdirat", "Mkfifo", "Mknod", "MoveFile", "Open", "Openat",
		"RemoveDirectory", "Rename", "Renameat", "Rmdir", "Symlink", "Truncate", "Unlink", "Unlinkat", "Utimes", "UtimesNano",
	},
	"golang.org/x/sys/unix": {
		"Chmod", "Copy_file_range", "Creat", "Fallocate", "Fchmodat", "Link", "Linkat", "Mkdir", "Mkdirat", "Mkfifo", "Mkfifoat", "Mknod", "Open", "Openat", "Openat2",
		"Rename", "Renameat", "Renameat2", "RenamexNp", "RenameatxNp", "Rmdir", "Setxattr", "Symlink", "Symlinkat", "Truncate", "Unlink", "Unlinkat", "UtimesNanoAt",
	},
	"golang.org/x/sys/windows": {
		"CopyFile", "CreateDirectory", "CreateFile", "CreateHardLink", "CreateSymbolicLink", "DeleteFile", "MoveFile", "MoveFileEx", "NtCreateFile",
		"NtSetInformationFile", "RemoveDirectory", "Rename", "SetFileAttributes", "SetFileInformationByHandle",
	},
}

// readers mention what could change a disk, and why they don't.
var readers = map[string]string{
	"internal/reach/reach.go: os.OpenRoot":            "the folder is only read, and handed to nobody",
	"internal/reach/reach.go: os.OpenFile":            "for reading only",
	"cmd/pushcue-window/main_windows.go: os.OpenFile": "the null device",
}

func TestOnlyOnePackageChangesTheDisk(t *testing.T) {
	for _, s := range sources(t, false) {
		if under(s.folder, door) || under(s.folder, notProduct...) {
			continue
		}
		for _, found := range changes(s) {
			if readers[found.what] != "" {
				continue
			}
			t.Errorf("%s, line %d: only %s changes the disk", found.what, found.line, door)
		}
		if mentions(s, door, "OnEachStep") {
			t.Errorf("%s: safefile.OnEachStep is for tests", s.name)
		}
	}
}

// A change is a mention of something that changes a disk.
type change struct {
	what string // file and name, as written
	line int
}

// changes finds what of s changes a disk, called or handed on.
func changes(s source) (all []change) {
	packages := map[string]string{} // by the name that the file has for it
	for _, i := range s.tree.Imports {
		path := strings.Trim(i.Path.Value, `"`)
		name := path[strings.LastIndexByte(path, '/')+1:]
		if i.Name != nil {
			name = i.Name.Name
		}
		if changing[path] != nil {
			packages[name] = path
		}
		if name == "." && changing[path] != nil {
			all = append(all, change{s.name + ": import of " + path + " without a name", s.line(i)})
		}
	}
	ast.Inspect(s.tree, func(n ast.Node) bool {
		pick, ok := n.(*ast.SelectorExpr)
		if !ok {
			return true
		}
		of, ok := pick.X.(*ast.Ident)
		if ok && slices.Contains(changing[packages[of.Name]], strings.TrimSuffix(pick.Sel.Name, "W")) {
			all = append(all, change{fmt.Sprintf("%s: %s.%s", s.name, of.Name, pick.Sel.Name), s.line(n)})
		}
		return true
	})
	return all
}

// mentions reports whether s mentions a function of one of our packages.
func mentions(s source, folder, function string) bool {
	name := folder[strings.LastIndexByte(folder, '/')+1:]
	found := false
	ast.Inspect(s.tree, func(n ast.Node) bool {
		if pick, ok := n.(*ast.SelectorExpr); ok && pick.Sel.Name == function {
			of, ok := pick.X.(*ast.Ident)
			found = found || ok && of.Name == name
		}
		return !found
	})
	return found
}

func TestTheRuleFindsWhatChangesADisk(t *testing.T) {
	for text, want := range map[string]int{
		`import "os"; func f() { os.Remove("x"); os.Open("x"); os.ReadFile("x") }`: 1,
		`import "os"; var remove = os.RemoveAll`:                                   1,
		`import disk "os"; func f() { disk.WriteFile("x", nil, 0) }`:               1,
		`import . "os"; func f() { Remove("x") }`:                                  1,
		`import "golang.org/x/sys/unix"; func f() { unix.Unlinkat(1, "x", 0) }`:    1,
		`import "syscall"; func f() { syscall.Open("x", 0, 0) }`:                   1,
		`import "os"; func f() (*os.Root, error) { return os.OpenRoot("x") }`:      1,
		`import "os"; func f(g *os.File) { g.Close() }`:                            0,
	} {
		set := token.NewFileSet()
		tree, err := parser.ParseFile(set, "x.go", "package x; "+text, 0)
		if err != nil {
			t.Fatal(err)
		}
		if got := changes(source{"x.go", ".", tree, set}); len(got) != want {
			t.Errorf("%s: %v", text, got)
		}
	}
}
