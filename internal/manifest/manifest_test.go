package manifest_test

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"pushcue/internal/manifest"
)

// The vectors are those published with FIPS 180-4 (NIST example values for "abc").
func TestSumsAreThePublishedOnes(t *testing.T) {
	dir := folder(t, map[string]string{"abc": "abc"})
	list, err := manifest.Sum(context.Background(), dir, []string{"abc"}, []manifest.Algorithm{manifest.SHA256, manifest.SHA512}, nil)
	if err != nil {
		t.Fatal(err)
	}
	want := manifest.Entry{Name: "abc", Size: 3, Sums: map[manifest.Algorithm]string{
		manifest.SHA256: "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
		manifest.SHA512: "ddaf35a193617abacc417349ae20413112e6fa4e89a97ea20a9eeee64b55d39a2192992a274fc1a836ba3c23a3feebbd454d4423643ce80e2a9ac94fa54ca49f",
	}}
	if diff := cmp.Diff(want, list[0]); diff != "" {
		t.Error(diff)
	}
}

var oddNames = map[string]string{
	"plain.txt":            "a",
	"with space.txt":       "b",
	"prüfung/größe.txt":    "c",
	`back\slash.txt`:       "d",
	"line\nend.txt":        "e",
	"100%25 sure.txt":      "f",
	"- starts with a dash": "g",
	" leading blank":       "h",
}

func TestCoreutilsAcceptTheList(t *testing.T) {
	dir := folder(t, oddNames)
	for algorithm, tool := range map[manifest.Algorithm]string{manifest.SHA256: "sha256sum", manifest.SHA512: "sha512sum"} {
		list := sum(t, dir, algorithm)
		var text bytes.Buffer
		if err := manifest.WriteCoreutils(&text, algorithm, list); err != nil {
			t.Fatal(err)
		}
		check := exec.Command(tool, "-c", "--strict", "-")
		check.Dir, check.Stdin = dir, bytes.NewReader(text.Bytes())
		if out, err := check.CombinedOutput(); err != nil {
			t.Errorf("%s -c: %v\n%s", tool, err, out)
		}
		back, err := manifest.ReadCoreutils(&text, algorithm)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(namesOf(list), namesOf(back)); diff != "" {
			t.Error(diff)
		}
	}
}

func TestBagItListComesBackAsWritten(t *testing.T) {
	dir := folder(t, oddNames)
	list := sum(t, dir, manifest.SHA512)
	var text bytes.Buffer
	if err := manifest.WriteBagIt(&text, manifest.SHA512, list); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(text.String(), "line%0Aend.txt\n") || !strings.Contains(text.String(), "100%2525 sure.txt\n") {
		t.Errorf("LF and %% aren't percent-encoded (RFC 8493 section 2.1.3):\n%s", text.String())
	}
	back, err := manifest.ReadBagIt(&text, manifest.SHA512, manifest.BagItForm{})
	if err != nil {
		t.Fatal(err)
	}
	want := namesOf(list)
	for i, name := range want { // blanks before a name can't be told from the ones that part it from its sum
		want[i] = strings.TrimLeft(name, " ")
	}
	if diff := cmp.Diff(want, namesOf(back)); diff != "" {
		t.Error(diff)
	}
}

func TestUnusableListsAreRefused(t *testing.T) {
	sum := strings.Repeat("a", 64)
	for name, text := range map[string]string{
		"no name":          sum + "\n",
		"short sum":        sum[1:] + "  x\n",
		"not hexadecimal":  strings.Repeat("g", 64) + "  x\n",
		"leads out":        sum + "  ../x\n",
		"leads out inside": sum + "  a/../../x\n",
		"absolute":         sum + "  /etc/x\n",
		"a drive letter":   sum + "  C:/x\n",
		"back slashes":     sum + "  ..\\x\n",
		"twice the same":   sum + "  x\n" + sum + "  x\n",
		"an endless line":  sum + "  " + strings.Repeat("x", 1<<20),
	} {
		t.Run(name, func(t *testing.T) {
			if _, err := manifest.ReadCoreutils(strings.NewReader(text), manifest.SHA256); err == nil {
				t.Error("accepted by ReadCoreutils")
			}
			if _, err := manifest.ReadBagIt(strings.NewReader(text), manifest.SHA256, manifest.BagItForm{}); err == nil {
				t.Error("accepted by ReadBagIt")
			}
		})
	}
}

func TestEachChangeIsNamed(t *testing.T) {
	files := map[string]string{"a.txt": "alpha", "b.txt": "beta", "c/d.txt": "delta"}
	for name, c := range map[string]struct {
		do   func(dir string) error
		want []string
	}{
		"nothing":      {func(string) error { return nil }, nil},
		"a byte flips": {write("a.txt", "alphA"), []string{`changed: "a.txt" isn't what it was`}},
		"cut short":    {write("a.txt", "alp"), []string{`changed: "a.txt" isn't what it was: 3 bytes long, was 5`}},
		"gone":         {remove("b.txt"), []string{`missing: "b.txt" is gone`}},
		"one more":     {write("e.txt", "new"), []string{`added: "e.txt" wasn't there before`}},
		"moved":        {rename("c/d.txt", "c/e.txt"), []string{`renamed: "c/d.txt" is now called "c/e.txt"`}},
		"swapped":      {swap("a.txt", "b.txt"), []string{`changed: "a.txt" isn't what it was: 4 bytes long, was 5`, `changed: "b.txt" isn't what it was: 5 bytes long, was 4`}},
		"now a link":   {link("a.txt"), []string{`changed: "a.txt" isn't what it was: it is no longer a plain file`, `added: "kept.txt" wasn't there before`}},
		"now a folder": {folderInstead("a.txt"), []string{`missing: "a.txt" is gone`}},
		"all at once":  {all(write("a.txt", "x"), remove("b.txt"), rename("c/d.txt", "z.txt"), write("new", "n")), []string{`changed: "a.txt" isn't what it was: 1 bytes long, was 5`, `missing: "b.txt" is gone`, `renamed: "c/d.txt" is now called "z.txt"`, `added: "new" wasn't there before`}},
	} {
		t.Run(name, func(t *testing.T) {
			dir := folder(t, files)
			list := sum(t, dir, manifest.SHA256)
			if err := c.do(dir); err != nil {
				t.Fatal(err)
			}
			findings, err := manifest.Compare(context.Background(), dir, list, manifest.Options{})
			if err != nil {
				t.Fatal(err)
			}
			var got []string
			for _, f := range findings {
				got = append(got, f.String())
			}
			if diff := cmp.Diff(c.want, got); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestOtherNormalFormIsTheSameName(t *testing.T) {
	dir := folder(t, map[string]string{"gr\u00f6\u00dfe.txt": "x"}) // composed
	list := sum(t, dir, manifest.SHA256)
	list[0].Name = "gro\u0308\u00dfe.txt" // decomposed, as some file systems give it back
	findings, err := manifest.Compare(context.Background(), dir, list, manifest.Options{})
	if err != nil || len(findings) > 0 {
		t.Errorf("got %v, %v", findings, err)
	}
}

func TestInterruptedReadingIsNeverAFinding(t *testing.T) {
	dir := folder(t, map[string]string{"a": "x"})
	list := sum(t, dir, manifest.SHA256)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if findings, err := manifest.Compare(ctx, dir, list, manifest.Options{}); err == nil {
		t.Errorf("no error, findings %v", findings)
	}
}

func FuzzReadLists(f *testing.F) {
	f.Add(strings.Repeat("a", 64) + "  name\n")
	f.Add(`\` + strings.Repeat("0", 64) + `  a\nb` + "\n")
	f.Fuzz(func(t *testing.T, text string) {
		for _, read := range []func(string) ([]manifest.Entry, error){
			func(s string) ([]manifest.Entry, error) {
				return manifest.ReadCoreutils(strings.NewReader(s), manifest.SHA256)
			},
			func(s string) ([]manifest.Entry, error) {
				return manifest.ReadBagIt(strings.NewReader(s), manifest.SHA256, manifest.BagItForm{})
			},
		} {
			list, err := read(text)
			if err != nil {
				continue
			}
			for _, e := range list {
				if inside, err := filepath.Rel("/root", filepath.Join("/root", e.Name)); err != nil || strings.HasPrefix(inside, "..") {
					t.Errorf("%q leads out of the folder", e.Name)
				}
			}
		}
	})
}

func folder(t *testing.T, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		if err := write(name, text)(dir); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func sum(t *testing.T, dir string, a manifest.Algorithm) []manifest.Entry {
	t.Helper()
	names, err := manifest.Walk(context.Background(), dir)
	if err != nil {
		t.Fatal(err)
	}
	list, err := manifest.Sum(context.Background(), dir, names, []manifest.Algorithm{a}, nil)
	if err != nil {
		t.Fatal(err)
	}
	return list
}

func namesOf(list []manifest.Entry) []string {
	var names []string
	for _, e := range list {
		names = append(names, e.Name)
	}
	return names
}

type change = func(dir string) error

func write(name, text string) change {
	return func(dir string) error {
		file := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
			return err
		}
		return os.WriteFile(file, []byte(text), 0o644)
	}
}

func remove(name string) change {
	return func(dir string) error { return os.Remove(filepath.Join(dir, name)) }
}

func rename(from, to string) change {
	return func(dir string) error { return os.Rename(filepath.Join(dir, from), filepath.Join(dir, to)) }
}

func swap(a, b string) change {
	return all(rename(a, "swap"), rename(b, a), rename("swap", b))
}

func link(name string) change {
	return func(dir string) error {
		if err := rename(name, "kept.txt")(dir); err != nil {
			return err
		}
		return os.Symlink("kept.txt", filepath.Join(dir, name))
	}
}

func folderInstead(name string) change {
	return func(dir string) error {
		if err := remove(name)(dir); err != nil {
			return err
		}
		return os.Mkdir(filepath.Join(dir, name), 0o755)
	}
}

func all(changes ...change) change {
	return func(dir string) error {
		for _, c := range changes {
			if err := c(dir); err != nil {
				return err
			}
		}
		return nil
	}
}
