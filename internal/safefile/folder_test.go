package safefile

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pushcue/internal/soak"
)

// A scene is an opened folder with work in sub, and with files of the same names in
// sources and outside.
type scene struct {
	top, outside string
	folder       *Folder
}

func (s *scene) sources() string { return filepath.Join(s.top, "sources") }

func newScene(t *testing.T) *scene {
	t.Helper()
	base := t.TempDir()
	s := &scene{top: filepath.Join(base, "open"), outside: filepath.Join(base, "outside")}
	for _, dir := range []string{s.sources(), s.outside} {
		fill(t, dir)
	}
	s.reset(t)
	return s
}

// fill makes a folder with two files and an empty folder.
func fill(t *testing.T, dir string) {
	t.Helper()
	must(t, os.MkdirAll(filepath.Join(dir, "empty"), 0o755))
	for _, name := range []string{"file", "waiting"} {
		must(t, os.WriteFile(filepath.Join(dir, name), []byte(dir+" "+name+"\n"), 0o644))
	}
}

// reset makes and opens the folder in which work is done anew.
func (s *scene) reset(t *testing.T) {
	t.Helper()
	if s.folder != nil {
		s.folder.Close()
	}
	old, err := filepath.Glob(filepath.Join(s.top, "sub*"))
	must(t, err)
	for _, path := range old {
		must(t, os.RemoveAll(path))
	}
	fill(t, filepath.Join(s.top, "sub"))
	s.folder, err = Open(s.top)
	must(t, err)
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// tree is everything below the folders, with its content.
func tree(t *testing.T, dirs ...string) map[string]string {
	t.Helper()
	all := map[string]string{}
	for _, dir := range dirs {
		must(t, filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				all[path] = "folder"
				return err
			}
			text, err := os.ReadFile(path)
			all[path] = d.Type().String() + string(text)
			return err
		}))
	}
	return all
}

// victims is what nothing may change.
func (s *scene) victims(t *testing.T) map[string]string {
	return tree(t, s.outside, s.sources())
}

// changes are all operations of a Folder that change a disk.
var changes = map[string]func(f *Folder) error{
	"write":       func(f *Folder) error { return f.WriteBytes("sub/file", []byte("ours")) },
	"write new":   func(f *Folder) error { return f.CreateNew("sub/new", []byte("ours")) },
	"append":      func(f *Folder) error { return f.Append(context.Background(), "sub/file", []byte("ours\n")) },
	"append new":  func(f *Folder) error { return f.Append(context.Background(), "sub/lines", []byte("ours\n")) },
	"make folder": func(f *Folder) error { return closing(f.MakeFolder("sub/empty/a/b")) },
	"move":        func(f *Folder) error { return f.Move("sub/waiting", f, "sub/empty/file") },
	"move onto":   func(f *Folder) error { return f.Move("sub/waiting", f, "sub/file") },
	"rename":      func(f *Folder) error { return f.Rename("sub/waiting", "sub/renamed") },
	"remove":      func(f *Folder) error { return f.Remove("sub/file") },
	"remove dir":  func(f *Folder) error { return f.Remove("sub/empty") },
	"remove all":  func(f *Folder) error { return f.RemoveAll("sub") },
	"truncate": func(f *Folder) error {
		file, err := f.OpenFile("sub/file", os.O_RDWR|os.O_TRUNC, 0)
		if err != nil {
			return err
		}
		file.WriteString("ours")
		return file.Close()
	},
	"create": func(f *Folder) error {
		file, err := f.OpenFile("sub/created", os.O_WRONLY|os.O_CREATE, 0o644)
		if err != nil {
			return err
		}
		file.WriteString("ours")
		return file.Close()
	},
	"temp folder": func(f *Folder) error {
		sub, err := f.Folder("sub")
		if err != nil {
			return err
		}
		defer sub.Close()
		temp, err := sub.TempFolder("unfinished-")
		if err != nil {
			return err
		}
		return errors.Join(temp.WriteBytes("file", []byte("ours")), temp.Discard())
	},
}

func closing(f *Folder, err error) error {
	if err == nil {
		f.Close()
	}
	return err
}

func TestChangesAreMade(t *testing.T) {
	for name, change := range changes {
		s := newScene(t)
		before, victims := tree(t, s.top), s.victims(t)
		if err := change(s.folder); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if name != "temp folder" && maps.Equal(before, tree(t, s.top)) {
			t.Errorf("%s changed nothing", name)
		}
		if !maps.Equal(victims, s.victims(t)) {
			t.Errorf("%s changed something elsewhere", name)
		}
	}
}

func symlink(t *testing.T, to, at string) {
	t.Helper()
	must(t, os.RemoveAll(at))
	if err := os.Symlink(to, at); err != nil {
		t.Skipf("no symbolic links here: %v", err)
	}
}

func TestNothingIsChangedThroughALink(t *testing.T) {
	for name, change := range changes {
		for _, where := range []string{"outside", "sources", "self"} {
			s := newScene(t)
			to := map[string]string{"outside": s.outside, "sources": "sources", "self": "."}[where]
			victims := s.victims(t)
			symlink(t, to, filepath.Join(s.top, "sub"))
			if err := change(s.folder); name == "remove all" {
				must(t, err) // the link itself is what goes
			} else if !errors.Is(err, ErrLink) {
				t.Errorf("%s, linked to %s: %v", name, where, err)
			}
			if !maps.Equal(victims, s.victims(t)) {
				t.Errorf("%s, linked to %s: something there was changed", name, where)
			}
		}
	}
}

func TestAFileThatIsALinkIsNotWrittenInto(t *testing.T) {
	for _, name := range []string{"append", "truncate"} {
		for _, to := range []string{"../sources/file", "../../outside/file", "waiting", "nowhere"} {
			s := newScene(t)
			victims, waiting := s.victims(t), filepath.Join(s.top, "sub", "waiting")
			symlink(t, to, filepath.Join(s.top, "sub", "file"))
			if err := changes[name](s.folder); !errors.Is(err, ErrLink) {
				t.Errorf("%s to %s: %v", name, to, err)
			}
			if !maps.Equal(victims, s.victims(t)) || read(t, waiting) != filepath.Join(s.top, "sub")+" waiting\n" {
				t.Errorf("%s: %s was written to", name, to)
			}
		}
	}
}

func TestNamesThatLeadOutAreRefused(t *testing.T) {
	s := newScene(t)
	victims := s.victims(t)
	for _, name := range []string{"", ".", "..", "../sources/file", "sub/../../sources/file", "/etc/passwd", s.outside + "/file", "sub//file", "sub/", "./sub/file", "sub/./file"} {
		for what, err := range map[string]error{
			"write": s.folder.WriteBytes(name, []byte("ours")), "remove": s.folder.Remove(name), "remove all": s.folder.RemoveAll(name),
			"move": s.folder.Move(name, s.folder, "x"), "move to": s.folder.Move("sub/waiting", s.folder, name),
			"make": closing(s.folder.MakeFolder(name)), "append": s.folder.Append(t.Context(), name, []byte("ours\n")),
		} {
			if !errors.Is(err, ErrName) {
				t.Errorf("%s %q: %v", what, name, err)
			}
		}
	}
	if !maps.Equal(victims, s.victims(t)) {
		t.Error("something elsewhere was changed")
	}
}

func TestProtectedFilesStayWhateverTheirName(t *testing.T) {
	for name, change := range changes {
		if name == "make folder" || name == "temp folder" || name == "rename" || name == "remove dir" || name == "write new" || name == "append new" || name == "create" || name == "move" {
			continue // these change no file that is there
		}
		s := newScene(t)
		source, here := filepath.Join(s.sources(), "file"), filepath.Join(s.top, "sub", "file")
		must(t, os.Remove(here))
		if err := os.Link(source, here); err != nil {
			t.Skipf("no hard links here: %v", err)
		}
		p := &Protected{}
		p.Add(source)
		s.folder.Protect(p)
		was := read(t, source)
		if err := change(s.folder); !errors.Is(err, ErrSource) {
			t.Errorf("%s: %v", name, err)
		}
		if read(t, source) != was || read(t, here) != was {
			t.Errorf("%s changed it", name)
		}
	}
}

func TestAFileWithASecondNameIsNotWrittenInto(t *testing.T) {
	s := newScene(t)
	here := filepath.Join(s.top, "sub", "file")
	must(t, os.Remove(here))
	if err := os.Link(filepath.Join(s.outside, "file"), here); err != nil {
		t.Skipf("no hard links here: %v", err)
	}
	victims := s.victims(t)
	if info, _ := os.Stat(here); linkCount(info) == 1 {
		t.Skip("this system doesn't tell how many names a file has")
	}
	if _, err := s.folder.OpenFile("sub/file", os.O_RDWR, 0); !errors.Is(err, ErrLink) {
		t.Errorf("%v", err)
	}
	must(t, s.folder.WriteBytes("sub/file", []byte("ours"))) // takes the name away from the other file
	if !maps.Equal(victims, s.victims(t)) {
		t.Error("the other file was changed")
	}
}

// swap exchanges one thing for another in the middle of an operation.
type swap struct {
	what string
	do   func(s *scene) error
}

// swaps take a folder or a file away and put a link in its place.
func swaps(s *scene) []swap {
	var all []swap
	for _, name := range []string{"sub", "sub/file", "sub/waiting", "sub/empty"} {
		at := filepath.Join(s.top, filepath.FromSlash(name))
		inward, _ := filepath.Rel(filepath.Dir(at), s.sources())
		outward := s.outside
		if name != "sub" {
			inward, outward = filepath.Join(inward, filepath.Base(at)), filepath.Join(outward, filepath.Base(at))
		}
		for _, to := range []string{inward, outward, ".", "waiting"} {
			all = append(all, swap{fmt.Sprintf("%s -> %s", name, to), func(*scene) error {
				aside := at + fmt.Sprintf("-aside-%08x", rand.Uint32())
				return errors.Join(os.Rename(at, aside), os.Symlink(to, at))
			}})
		}
	}
	return all
}

// withoutSyncing leaves out what waits for the disk, which these tests don't look at.
func withoutSyncing(t *testing.T) {
	sync, open := fsync, openTemp
	t.Cleanup(func() { fsync, openTemp = sync, open })
	fsync = func(*os.File) error { return nil }
	openTemp = func(dir *os.Root, name string, perm fs.FileMode) (handle, error) {
		f, err := open(dir, name, perm)
		return unsynced{f}, err
	}
}

type unsynced struct{ handle }

func (unsynced) Sync() error { return nil }

func TestALinkPutThereWhileAFileIsOpenedIsNamed(t *testing.T) {
	s := newScene(t)
	at := filepath.Join(s.top, "sub", "file")
	undo := OnEachStep(func(op, _ string) error {
		if op == "open" {
			symlink(t, filepath.Join(s.outside, "file"), at)
		}
		return nil
	})
	defer undo()
	if _, err := s.folder.OpenFile("sub/file", os.O_WRONLY|os.O_APPEND, 0); !errors.Is(err, ErrLink) {
		t.Errorf("%v", err)
	}
}

// Each operation is disturbed at each of its steps, by each swap, and by swaps of
// another time: nothing elsewhere changes, whatever becomes of the operation.
func TestSwapsBetweenCheckAndUseChangeNothingElsewhere(t *testing.T) {
	if err := os.Symlink(".", filepath.Join(t.TempDir(), "link")); err != nil {
		t.Skipf("no symbolic links here: %v", err)
	}
	withoutSyncing(t)
	s := newScene(t)
	victims := s.victims(t)
	done := 0
	for done < soak.Count(1000, 20_000) {
		for name, change := range changes {
			for _, w := range swaps(s) {
				for at := range 6 {
					s.reset(t)
					n, swapped := 0, false
					undo := OnEachStep(func(string, string) error {
						if n == at {
							swapped = w.do(s) == nil
						}
						n++
						return nil
					})
					change(s.folder)
					undo()
					if !swapped {
						continue
					}
					done++
					if (name == "append" || name == "truncate") && w.what == "sub/file -> waiting" && !strings.HasSuffix(read(t, filepath.Join(s.top, "sub", "waiting")), "sub waiting\n") {
						t.Fatalf("%s wrote through a link before step %d", name, at)
					}
					if now := s.victims(t); !maps.Equal(victims, now) {
						t.Fatalf("%s, with %s before step %d: %v, was %v", name, w.what, at, now, victims)
					}
				}
			}
		}
	}
	t.Logf("%d swaps", done)
}
