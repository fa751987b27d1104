package proof

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"pushcue/internal/handover/bag"
	"pushcue/internal/handover/drive"
	"pushcue/internal/manifest"
	"pushcue/timeline/fault"
)

func put(t *testing.T, dir, name, text string) string {
	t.Helper()
	file := filepath.Join(dir, filepath.FromSlash(name))
	must(t, os.MkdirAll(filepath.Dir(file), 0o755))
	must(t, os.WriteFile(file, []byte(text), 0o644))
	return file
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// handedOver makes a small one, with its list of sums.
func handedOver(t *testing.T, dir string) string {
	t.Helper()
	names := []string{"index.html", "timeline.json", "stills/01 gr\u00f6\u00dfe.jpg", "video/run.mp4"}
	for _, name := range names {
		put(t, dir, name, "{} "+name)
	}
	list, err := manifest.Sum(context.Background(), dir, names, []manifest.Algorithm{manifest.SHA256}, nil)
	must(t, err)
	var text bytes.Buffer
	must(t, manifest.WriteCoreutils(&text, manifest.SHA256, list))
	put(t, dir, drive.ListName, text.String())
	return dir
}

func archive(t *testing.T, target string) string {
	t.Helper()
	_, err := bag.Write(context.Background(), target, []bag.File{{Path: put(t, t.TempDir(), "log.csv", "a;b"), Name: "log.csv"}}, nil, nil)
	must(t, err)
	return target
}

// checked is what is said of each thing of ours at a place, by its name there.
func checked(t *testing.T, place string) map[string][]string {
	t.Helper()
	subjects, err := Find(context.Background(), place)
	must(t, err)
	all := map[string][]string{}
	for _, s := range subjects {
		r, err := Check(context.Background(), s, nil)
		must(t, err)
		rel, err := filepath.Rel(place, s.Path)
		must(t, err)
		all[rel] = r.Problems
	}
	return all
}

func TestOnADriveOursIsFoundAndTheRestPassedOver(t *testing.T) {
	stick := t.TempDir()
	handedOver(t, filepath.Join(stick, "2291-B"))
	archive(t, filepath.Join(stick, "2291-B.zip"))
	archive(t, filepath.Join(stick, "2292-A.tar"))
	archive(t, filepath.Join(stick, "2293-C"))
	put(t, stick, "holiday.jpg", "theirs")
	put(t, stick, "theirs/SHA256SUMS", strings.Repeat("0", 64)+"  image.iso\n")
	put(t, stick, "theirs.zip", "PK\x03\x04 not one of ours")
	put(t, stick, "SHA256SUMS", "theirs too")
	put(t, stick, "COPY-NOT-FINISHED.txt", "theirs as well")
	want := map[string][]string{"2291-B": nil, "2291-B.zip": nil, "2292-A.tar": nil, "2293-C": nil}
	if diff := cmp.Diff(want, checked(t, stick)); diff != "" {
		t.Error(diff)
	}
}

func TestOursIsToldOfHoweverDamaged(t *testing.T) {
	stick := t.TempDir()
	cut := archive(t, filepath.Join(stick, "cut.zip"))
	info, err := os.Stat(cut)
	must(t, err)
	must(t, os.Truncate(cut, info.Size()/2))
	must(t, os.Remove(filepath.Join(archive(t, filepath.Join(stick, "undeclared")), "bagit.txt")))
	must(t, os.Remove(filepath.Join(handedOver(t, filepath.Join(stick, "unlisted")), drive.ListName)))
	put(t, handedOver(t, filepath.Join(stick, "illegible")), drive.ListName, "\x00\xff")
	for name, problems := range checked(t, stick) {
		if len(problems) == 0 {
			t.Errorf("%s passed", name)
		}
		t.Logf("%s: %q", name, problems)
	}
	if got := checked(t, stick); len(got) != 4 {
		t.Errorf("found %v", got)
	}
}

func TestEachChangeToAHandoverIsNamed(t *testing.T) {
	for name, c := range map[string]struct {
		do   func(dir string) error
		want []string
	}{
		"changed": {func(dir string) error { return os.WriteFile(filepath.Join(dir, "video/run.mp4"), []byte("x"), 0o644) },
			[]string{`changed: "video/run.mp4" isn't what it was`}},
		"missing": {func(dir string) error { return os.Remove(filepath.Join(dir, "index.html")) },
			[]string{`missing: "index.html" is gone`}},
		"added": {func(dir string) error { return os.WriteFile(filepath.Join(dir, "x.txt"), nil, 0o644) },
			[]string{`added: "x.txt" wasn't there before`}},
		"renamed": {func(dir string) error {
			return os.Rename(filepath.Join(dir, "index.html"), filepath.Join(dir, "start.html"))
		}, []string{`renamed: "index.html" is now called "start.html"`}},
		"the other normal form of an accent": {func(dir string) error {
			return os.Rename(filepath.Join(dir, "stills/01 gr\u00f6\u00dfe.jpg"), filepath.Join(dir, "stills/01 gro\u0308\u00dfe.jpg"))
		}, nil},
		"what systems leave": {func(dir string) error { return os.WriteFile(filepath.Join(dir, "stills/Thumbs.db"), nil, 0o644) }, nil},
	} {
		dir := handedOver(t, filepath.Join(t.TempDir(), "handover"))
		must(t, c.do(dir))
		if diff := cmp.Diff(c.want, checked(t, dir)["."]); diff != "" {
			t.Errorf("%s: %s", name, diff)
		}
	}
}

func TestWhereNothingOfOursIsThatIsSaid(t *testing.T) {
	dir := t.TempDir()
	for _, place := range []string{dir, filepath.Join(dir, "gone"), put(t, dir, "a.txt", "x")} {
		_, err := Find(context.Background(), place)
		if faults, told := fault.In(err); !told || faults[0].Hint.Empty() {
			t.Errorf("%s: %v", place, err)
		}
	}
}
