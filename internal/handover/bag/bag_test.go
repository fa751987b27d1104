package bag

import (
	"archive/tar"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// Each form comes back whole with names of every kind: accents in both normal
// forms, blanks, %, CR and LF.
func TestNamesComeBackInEachForm(t *testing.T) {
	for _, name := range []string{"bag", "bag.tar", "bag.zip"} {
		t.Run(name, func(t *testing.T) {
			target := filepath.Join(t.TempDir(), name)
			w, err := Write(context.Background(), target, payload(t, sample), sampleInfo, nil)
			must(t, err)
			r := verify(t, target)
			if !r.Good() || r.Files != len(sample) || r.Seal != w.Seal {
				t.Errorf("report %+v, sealed %s", r, w.Seal)
			}
		})
	}
}

func TestASingleFileHoldsOneFolderNamedAsTheBag(t *testing.T) {
	target := filepath.Join(t.TempDir(), "2291-B.tar")
	_, err := Write(context.Background(), target, payload(t, sample), nil, nil)
	must(t, err)
	f, err := os.Open(target)
	must(t, err)
	defer f.Close()
	for in := tar.NewReader(f); ; {
		h, err := in.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		must(t, err)
		if !strings.HasPrefix(h.Name, "2291-B/") {
			t.Errorf("%q isn't in the folder", h.Name)
		}
	}
}

func TestStandardToolsUnpackIt(t *testing.T) {
	target := filepath.Join(t.TempDir(), "2291-B.tar")
	_, err := Write(context.Background(), target, payload(t, sample), nil, nil)
	must(t, err)
	out := t.TempDir()
	if said, err := exec.Command("tar", "-xf", target, "-C", out).CombinedOutput(); err != nil {
		t.Fatalf("tar: %v\n%s", err, said)
	}
	if r := verify(t, filepath.Join(out, "2291-B")); !r.Good() {
		t.Errorf("unpacked: %v", r.Problems())
	}
}

func TestEachTamperingIsNamed(t *testing.T) {
	const a, b = "data/a.txt", "data/sub/b.txt"
	for name, c := range map[string]struct {
		do   func(t *testing.T, dir string)
		want string // in what is said
	}{
		"a bit flips in a recording":        {flip(a), `changed: "data/a.txt"`},
		"a bit flips in the log of sums":    {flip("manifest-sha512.txt"), "manifest-sha512.txt"},
		"a bit flips in the other list":     {flip("manifest-sha256.txt"), "manifest-sha256.txt"},
		"a bit flips in the tags' list":     {flip("tagmanifest-sha256.txt"), "its sha256 sum in the list was changed"},
		"a file is cut short":               {cut(a), `changed: "data/a.txt"`},
		"a file is emptied":                 {put(a, ""), `changed: "data/a.txt"`},
		"a file grows":                      {put(a, "alpha and more"), `changed: "data/a.txt"`},
		"a file is removed":                 {drop(a), `missing: "data/a.txt"`},
		"a file is added":                   {put("data/new.txt", "new"), `added: "data/new.txt"`},
		"a hidden file is added":            {put("data/.hidden", "new"), `added: "data/.hidden"`},
		"a file is renamed":                 {move(a, "data/z.txt"), `renamed: "data/a.txt" is now called "data/z.txt"`},
		"a file moves to another folder":    {move(b, "data/b.txt"), `renamed: "data/sub/b.txt" is now called "data/b.txt"`},
		"two files are exchanged":           {exchange(a, b), `changed: "data/a.txt"`},
		"a file becomes a link to its copy": {linkInstead(a), "no longer a plain file"},
		"a list loses a line":               {loseLine("manifest-sha256.txt"), "don't agree"},
		"both lists lose a line": {func(t *testing.T, dir string) {
			loseLine("manifest-sha256.txt")(t, dir)
			loseLine("manifest-sha512.txt")(t, dir)
		}, "added: "},
		"a list is removed":                 {drop("manifest-sha512.txt"), `missing: "manifest-sha512.txt"`},
		"the declaration is removed":        {drop(declaration), `missing: "bagit.txt"`},
		"the description is changed":        {put(infoName, "External-Identifier: 9999\n"), `changed: "bag-info.txt"`},
		"the description is removed":        {drop(infoName), `missing: "bag-info.txt"`},
		"the explanation is changed":        {put(readMe, "nothing to see"), "WHAT-IS-THIS.txt"},
		"a note is added at the top":        {put("readme.txt", "new"), `added: "readme.txt"`},
		"the payload's size is forged":      {put(infoName, "Payload-Oxum: 1.1\n"), "bag-info.txt says 1 files"},
		"the payload is emptied":            {dropAll("data"), `missing: "data/a.txt"`},
		"capitals of a name change":         {move(a, "data/A.txt"), `renamed: "data/a.txt" is now called "data/A.txt"`},
		"a file is replaced by one as long": {put(a, "alphA"), `changed: "data/a.txt"`},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			dir := filepath.Join(t.TempDir(), "bag")
			_, err := Write(context.Background(), dir, payload(t, map[string]string{"a.txt": "alpha", "sub/b.txt": "beta"}), sampleInfo, nil)
			must(t, err)
			if r := verify(t, dir); !r.Good() {
				t.Fatalf("wrong before anything was done: %v", r.Problems())
			}
			c.do(t, dir)
			r := verify(t, dir)
			if r.Good() || !mentions(r, c.want) {
				t.Errorf("said %q, want it to hold %q", r.Problems(), c.want)
			}
		})
	}
}

func TestDamagedArchivesAreToldNotTrusted(t *testing.T) {
	for _, name := range []string{"bag.tar", "bag.zip"} {
		target := filepath.Join(t.TempDir(), name)
		_, err := Write(context.Background(), target, payload(t, sample), nil, nil)
		must(t, err)
		whole, err := os.ReadFile(target)
		must(t, err)
		for at := 0; at < len(whole)-1024; at += len(whole) / 23 {
			must(t, os.WriteFile(target, whole[:at], 0o644))
			if r := verify(t, target); r.Good() {
				t.Errorf("%s cut at %d of %d bytes passed", name, at, len(whole))
			}
		}
		middle := bytes.Clone(whole)
		if i := bytes.Index(middle, []byte("moving pictures")); i >= 0 {
			middle[i] ^= 1
		}
		must(t, os.WriteFile(target, middle, 0o644))
		if r := verify(t, target); r.Good() {
			t.Errorf("%s with a flipped bit passed", name)
		}
	}
}

func TestNothingIsLeftWhenWritingFails(t *testing.T) {
	dir := t.TempDir()
	_, err := Write(context.Background(), filepath.Join(dir, "b.tar"), []File{{Path: filepath.Join(dir, "gone"), Name: "gone"}}, nil, nil)
	if err == nil {
		t.Fatal("no error")
	}
	ctx, stop := context.WithCancel(context.Background())
	_, err = Write(ctx, filepath.Join(dir, "b.zip"), payload(t, sample), nil, func(string, string, int64) { stop() })
	if !errors.Is(err, context.Canceled) {
		t.Fatalf("got %v", err)
	}
	left, err := os.ReadDir(dir)
	must(t, err)
	if len(left) > 0 {
		t.Errorf("left: %v", left)
	}
}

// Somebody who finds it in thirty years is told of each file that came home, of what
// was made, and of each kind of file.
func TestTheNoteTellsOfEveryFile(t *testing.T) {
	files := map[string]string{
		"part 1.avi": "a", "log.tsv": "b", "job.toml": "c", "edits.jsonl": "d", "spoken/01.opus": "e", "photos/house.heic": "f",
		"handover/index.html": "g", "handover/video/run.mp4": "h", "handover/SHA256SUMS": "i", "odd.xyz": "j", "two\nlines.txt": "k",
	}
	target := filepath.Join(t.TempDir(), "bag")
	_, err := Write(context.Background(), target, payload(t, files), sampleInfo, nil)
	must(t, err)
	text := readFile(t, target, readMe)
	for _, want := range []string{
		"part 1.avi ", "a part of the recording", "log.tsv ", "job sheet", "corrections made by people", "spoken note", "photo taken by hand",
		"index.html ", "start here", "video/ ", "SHA256SUMS ", "two_lines.txt", "External-Identifier: 2291-B",
		".avi ", ".opus ", ".heic ", ".html ", ".xyz     not one of", "sha512sum -c manifest-sha512.txt",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("%q isn't told in:\n%s", want, text)
		}
	}
	for _, absent := range []string{"report.pdf", "stills/"} {
		if strings.Contains(text, "    "+absent) {
			t.Errorf("%q is told of, and isn't there", absent)
		}
	}
	for line := range strings.Lines(text) {
		if len([]rune(line)) > 81 {
			t.Errorf("too long: %q", line)
		}
	}
}

func TestWhatIsThereIsNeverWrittenOver(t *testing.T) {
	target := filepath.Join(t.TempDir(), "b.tar")
	must(t, os.WriteFile(target, []byte("theirs"), 0o644))
	if _, err := Write(context.Background(), target, payload(t, sample), nil, nil); err == nil {
		t.Error("no error")
	}
	if b, _ := os.ReadFile(target); string(b) != "theirs" {
		t.Error("written over")
	}
}

func FuzzReadInfo(f *testing.F) {
	f.Add("Payload-Oxum: 1.2\nX: a\n   b\n")
	f.Fuzz(func(t *testing.T, text string) {
		info, err := readInfo([]byte(text))
		if err != nil {
			return
		}
		again, err := readInfo(info.text())
		if err != nil {
			t.Fatalf("what was read can't be read back: %v\n%q", err, info.text())
		}
		if len(again) != len(info) {
			t.Errorf("%d fields became %d:\n%q", len(info), len(again), info.text())
		}
	})
}

var sample = map[string]string{
	"log.csv":                          "time;distance",
	"part 1.mp4":                       strings.Repeat("moving pictures ", 20_000),
	"handover/index.html":              "page",
	"stills/gr\u00f6\u00dfe.jpg":       "composed",
	"stills2/gro\u0308\u00dfe.jpg":     "decomposed",
	"odd/100%25\n\r.txt":               "odd",
	"odd/ends with a blank .txt":       "",
	"odd/Ünï😀 \"quoted\" 'x' $(y).txt": "x",
}

var sampleInfo = Info{{"External-Identifier", "2291-B"}, {"External-Description", "two\nlines"}}

func oxum() string {
	n := 0
	for _, text := range sample {
		n += len(text)
	}
	return fmt.Sprintf("%d.%d", n, len(sample))
}

func payload(t *testing.T, files map[string]string) []File {
	t.Helper()
	root := t.TempDir()
	var all []File
	for name, text := range files {
		putFileText(t, root, name, text)
		all = append(all, File{Path: filepath.Join(root, name), Name: name})
	}
	return all
}

func sampleBag(t *testing.T) string {
	t.Helper()
	before := now
	now = func() time.Time { return time.Date(2026, 3, 2, 10, 0, 0, 0, time.UTC) }
	t.Cleanup(func() { now = before })
	target := filepath.Join(t.TempDir(), "2291-B")
	_, err := Write(context.Background(), target, payload(t, sample), sampleInfo, nil)
	must(t, err)
	return target
}

func verify(t *testing.T, target string) *Report {
	t.Helper()
	r, err := Verify(context.Background(), target, nil)
	must(t, err)
	return r
}

func mentions(r *Report, text string) bool {
	return slices.ContainsFunc(r.Problems(), func(p string) bool { return strings.Contains(p, text) })
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func readFile(t *testing.T, dir, name string) string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(dir, name))
	must(t, err)
	return string(b)
}

func putFileText(t *testing.T, dir, name, text string) {
	t.Helper()
	file := filepath.Join(dir, name)
	must(t, os.MkdirAll(filepath.Dir(file), 0o755))
	must(t, os.WriteFile(file, []byte(text), 0o644))
}

type tampering = func(t *testing.T, dir string)

func put(name, text string) tampering {
	return func(t *testing.T, dir string) { putFileText(t, dir, name, text) }
}

func flip(name string) tampering {
	return func(t *testing.T, dir string) {
		b := []byte(readFile(t, dir, name))
		b[len(b)/2] ^= 1
		putFileText(t, dir, name, string(b))
	}
}

func cut(name string) tampering {
	return func(t *testing.T, dir string) {
		text := readFile(t, dir, name)
		putFileText(t, dir, name, text[:len(text)-1])
	}
}

func drop(name string) tampering {
	return func(t *testing.T, dir string) { must(t, os.Remove(filepath.Join(dir, name))) }
}

func dropAll(name string) tampering {
	return func(t *testing.T, dir string) { must(t, os.RemoveAll(filepath.Join(dir, name))) }
}

func move(from, to string) tampering {
	return func(t *testing.T, dir string) {
		must(t, os.Rename(filepath.Join(dir, from), filepath.Join(dir, to)))
	}
}

func exchange(a, b string) tampering {
	return func(t *testing.T, dir string) {
		move(a, "swap")(t, dir)
		move(b, a)(t, dir)
		move("swap", b)(t, dir)
	}
}

func linkInstead(name string) tampering {
	return func(t *testing.T, dir string) {
		elsewhere := filepath.Join(t.TempDir(), "copy")
		must(t, os.WriteFile(elsewhere, []byte(readFile(t, dir, name)), 0o644))
		drop(name)(t, dir)
		must(t, os.Symlink(elsewhere, filepath.Join(dir, name)))
	}
}

func loseLine(name string) tampering {
	return func(t *testing.T, dir string) {
		_, rest, _ := strings.Cut(readFile(t, dir, name), "\n")
		putFileText(t, dir, name, rest)
	}
}
