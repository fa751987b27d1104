package bag

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"pushcue/internal/manifest"
	"pushcue/timeline/fault"
)

// The names of these tests are the sections of RFC 8493 that they hold the bag to.

func TestSection211BagDeclaration(t *testing.T) {
	text := readFile(t, sampleBag(t), declaration)
	if text != "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n" {
		t.Errorf("bagit.txt is %q", text)
	}
	for name, text := range map[string]string{
		"with a byte order mark": "\ufeffBagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n",
		"in the wrong order":     "Tag-File-Character-Encoding: UTF-8\nBagIt-Version: 1.0\n",
		"with a third line":      "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\nx: y\n",
		"of another version":     "BagIt-Version: 7.0\nTag-File-Character-Encoding: UTF-8\n",
		"of another encoding":    "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-16\n",
		"empty":                  "",
	} {
		t.Run(name, func(t *testing.T) {
			dir := sampleBag(t)
			putFileText(t, dir, declaration, text)
			if len(verify(t, dir).Faults) == 0 {
				t.Error("accepted")
			}
		})
	}
}

func TestSection212PayloadFolderStandsEvenWhenEmpty(t *testing.T) {
	target := filepath.Join(t.TempDir(), "empty")
	_, err := Write(context.Background(), target, nil, nil, nil)
	must(t, err)
	if info, err := os.Stat(filepath.Join(target, "data")); err != nil || !info.IsDir() {
		t.Error("no data folder")
	}
}

func TestSection213PayloadManifestListsEachFileOnce(t *testing.T) {
	dir := sampleBag(t)
	lines := strings.Split(strings.TrimSpace(readFile(t, dir, "manifest-sha512.txt")), "\n")
	line := regexp.MustCompile(`^[0-9a-f]{128}  data/.+$`)
	for _, l := range lines {
		if !line.MatchString(l) {
			t.Errorf("line %q", l)
		}
	}
	if len(lines) != len(sample) {
		t.Errorf("%d lines for %d files", len(lines), len(sample))
	}
	if text := readFile(t, dir, "manifest-sha512.txt"); !strings.Contains(text, "100%2525%0A%0D.txt") {
		t.Errorf("CR, LF and %% aren't percent-encoded:\n%s", text)
	}
	putFileText(t, dir, "manifest-sha512.txt", strings.Join(lines[1:], "\n")+"\n")
	if !mentions(verify(t, dir), "don't agree") {
		t.Error("lists that name different files were accepted")
	}
}

func TestSection213FormOfALine(t *testing.T) {
	sum := "b0a3b5f7c8e0a3b5f7c8e0a3b5f7c8e0b0a3b5f7c8e0a3b5f7c8e0a3b5f7c8e0"
	for line, want := range map[string]string{
		strings.ToUpper(sum) + "  data/a": "data/a", // either case of letters
		sum + "\tdata/a":                  "data/a", // blanks or tabs, one or more
		sum + " \t  data/a b":             "data/a b",
		sum + "  data/100%25%0d%0A.txt":   "data/100%\r\n.txt",
		sum + "  data/ü%41":               "data/ü%41", // those three alone are decoded
	} {
		list, err := manifest.ReadBagIt(strings.NewReader(line+"\n"), manifest.SHA256, manifest.BagItForm{})
		if err != nil || len(list) != 1 || list[0].Name != want || list[0].Sums[manifest.SHA256] != sum {
			t.Errorf("%q: %v, %v", line, list, err)
		}
	}
}

func TestSection213NothingOutsideThePayloadAndNoFolders(t *testing.T) {
	dir := sampleBag(t)
	for _, name := range []string{"bagit.txt", "data/stills"} {
		putFileText(t, dir, "manifest-sha512.txt", readFile(t, dir, "manifest-sha512.txt")+strings.Repeat("0", 128)+"  "+name+"\n")
	}
	if r := verify(t, dir); !mentions(r, `names "bagit.txt", which isn't under data/`) || !mentions(r, `missing: "data/stills"`) {
		t.Errorf("said %q", r.Problems())
	}
}

func TestSection221TagManifestsListEveryPayloadManifestAndNoPayload(t *testing.T) {
	dir := sampleBag(t)
	for _, list := range []string{"tagmanifest-sha512.txt", "tagmanifest-sha256.txt"} {
		var kept []string
		for line := range strings.Lines(readFile(t, dir, list)) {
			if !strings.Contains(line, "  manifest-sha256.txt") {
				kept = append(kept, line)
			}
		}
		digits := manifest.Algorithm(strings.TrimSuffix(strings.TrimPrefix(list, "tagmanifest-"), ".txt")).HexLen()
		putFileText(t, dir, list, strings.Join(kept, "")+strings.Repeat("0", digits)+"  data/log.csv\n")
	}
	if r := verify(t, dir); !mentions(r, "manifest-sha256.txt stands in no list") || !mentions(r, `names "data/log.csv", which belongs to the payload`) {
		t.Errorf("said %q", r.Problems())
	}
}

func TestSection221TagManifestsListNoTagManifest(t *testing.T) {
	dir := sampleBag(t)
	text := readFile(t, dir, "tagmanifest-sha512.txt")
	if strings.Contains(text, "tagmanifest-") {
		t.Error("a tag manifest lists a tag manifest")
	}
	for _, name := range []string{declaration, infoName, readMe, "manifest-sha256.txt", "manifest-sha512.txt"} {
		if !strings.Contains(text, "  "+name+"\n") {
			t.Errorf("%s isn't listed", name)
		}
	}
}

func TestSection222BagInfo(t *testing.T) {
	info, err := readInfo([]byte(readFile(t, sampleBag(t), infoName)))
	must(t, err)
	want := Info{
		{"External-Identifier", "2291-B"},
		{"External-Description", "two\nlines"},
		{"Bagging-Date", "2026-03-02"},
		{"Payload-Oxum", oxum()},
		{"Bag-Software-Agent", "pushcue"},
	}
	if diff := cmp.Diff(want, info); diff != "" {
		t.Error(diff)
	}
	if v, _ := info.Get("payload-OXUM"); v != oxum() {
		t.Error("labels aren't compared without case")
	}
}

func TestSection222PayloadOxumStandsOnce(t *testing.T) {
	dir := sampleBag(t)
	putFileText(t, dir, infoName, readFile(t, dir, infoName)+"payload-oxum: "+oxum()+"\n")
	if r := verify(t, dir); !mentions(r, "holds Payload-Oxum 2 times") {
		t.Errorf("said %q", r.Problems())
	}
}

func TestSection222LinesStayShortAndFoldedValuesComeBack(t *testing.T) {
	long := Info{{"External-Description", "Camera push through a drain, " + strings.Repeat("kitchen lateral, ", 12)}, {"X", strings.Repeat("y", 200)}}
	for line := range strings.Lines(string(long.text())) {
		if len([]rune(line)) > 80 && strings.Contains(strings.TrimSpace(line[3:]), " ") {
			t.Errorf("a line of %d characters: %q", len([]rune(line))-1, line)
		}
	}
	back, err := readInfo(long.text())
	must(t, err)
	for i, f := range back {
		if strings.Join(strings.Fields(f.Value), " ") != strings.TrimSpace(long[i].Value) {
			t.Errorf("%q came back as %q", long[i].Value, f.Value)
		}
	}
}

func TestSection223FetchIsToldAndNothingFetched(t *testing.T) {
	dir := sampleBag(t)
	putFileText(t, dir, fetchName, "file:///etc/hostname 10 data/hosts\n")
	if r := verify(t, dir); len(r.Notes) == 0 {
		t.Errorf("report %+v", r)
	}
}

func TestSection224OtherTagFiles(t *testing.T) {
	dir := sampleBag(t)
	putFileText(t, dir, "notes/mine.txt", "x")
	if r := verify(t, dir); !mentions(r, `added: "notes/mine.txt"`) {
		t.Errorf("a note that our bag doesn't list: %q", r.Problems())
	}
	theirs := filepath.Join(t.TempDir(), "theirs") // made by other software, which may list none of its own
	must(t, os.CopyFS(theirs, os.DirFS("testdata/conformance/v1.0/valid/basicBag")))
	putFileText(t, theirs, "notes/mine.txt", "x")
	if r := verify(t, theirs); !r.Good() {
		t.Errorf("a note in somebody else's bag: %q", r.Problems())
	}
}

func TestSection23TextTagFiles(t *testing.T) {
	for end, text := range map[string]string{"CR": "\r", "CRLF": "\r\n"} {
		dir := filepath.Join(t.TempDir(), "theirs")
		must(t, os.CopyFS(dir, os.DirFS("testdata/conformance/v1.0/valid/basicBag")))
		must(t, os.Remove(filepath.Join(dir, "tagmanifest-sha512.txt")))
		putFileText(t, dir, infoName, "Contact-Name: A. Alder\n")
		for _, name := range []string{declaration, "manifest-sha512.txt", infoName} {
			putFileText(t, dir, name, strings.ReplaceAll(readFile(t, dir, name), "\n", text))
		}
		if r := verify(t, dir); !r.Good() || len(r.Info) == 0 {
			t.Errorf("lines that end with %s: %q", end, r.Problems())
		}
	}
	dir := sampleBag(t)
	putFileText(t, dir, "manifest-sha512.txt", "\ufeff"+readFile(t, dir, "manifest-sha512.txt"))
	if r := verify(t, dir); !mentions(r, "begins with a byte order mark") {
		t.Errorf("a byte order mark: %q", r.Problems())
	}
}

func TestSection24SHA512IsTheDefault(t *testing.T) {
	if readFile(t, sampleBag(t), "manifest-sha512.txt") == "" {
		t.Error("no SHA-512 list")
	}
}

func TestSection3OthersMayCheckIt(t *testing.T) {
	plain := map[string]string{"log.csv": "a;b", "recording/part 1.mp4": "moving", "größe.txt": "x"}
	target := filepath.Join(t.TempDir(), "bag")
	_, err := Write(context.Background(), target, payload(t, plain), nil, nil)
	must(t, err)
	for _, list := range []string{"manifest-sha512.txt", "tagmanifest-sha512.txt"} {
		check := exec.Command("sha512sum", "-c", "--strict", list)
		check.Dir = target
		if out, err := check.CombinedOutput(); err != nil {
			t.Errorf("sha512sum -c %s: %v\n%s", list, err, out)
		}
	}
}

func TestSection51SpecialDirectoryCharacters(t *testing.T) {
	for _, name := range []string{"../x", "a/../../x", "/etc/passwd", "~/x", `..\x`, "C:/x", "a//b", ""} {
		_, err := Write(context.Background(), filepath.Join(t.TempDir(), "b"), []File{{Path: "x", Name: name}}, nil, nil)
		if _, told := fault.In(err); !told {
			t.Errorf("%q: got %v", name, err)
		}
	}
	dir := sampleBag(t)
	putFileText(t, dir, "manifest-sha512.txt", strings.Repeat("0", 128)+"  data/../../x\n")
	if !mentions(verify(t, dir), "outside the folder") {
		t.Error("a list that leads out was accepted")
	}
}

func TestSection611FilenameNormalization(t *testing.T) {
	for name, files := range map[string]map[string]string{
		"case (6.1.1.1)":    {"Log.csv": "a", "log.csv": "b"},
		"Unicode (6.1.1.2)": {"gr\u00f6\u00dfe.jpg": "a", "gro\u0308\u00dfe.jpg": "b"},
	} {
		_, err := Write(context.Background(), filepath.Join(t.TempDir(), "b"), payload(t, files), nil, nil)
		if faults, told := fault.In(err); !told || len(faults) != 1 {
			t.Errorf("%s: got %v", name, err)
		}
	}
	dir := sampleBag(t)
	must(t, os.Rename(filepath.Join(dir, "data", "stills", "gr\u00f6\u00dfe.jpg"), filepath.Join(dir, "data", "stills", "gro\u0308\u00dfe.jpg")))
	if r := verify(t, dir); !r.Good() {
		t.Errorf("the other normal form isn't taken for the same name: %v", r.Problems())
	}
}

// The published conformance suite of the format's own authors; see its README.
func TestConformanceSuite(t *testing.T) {
	bags, err := filepath.Glob("testdata/conformance/v*/*/*")
	must(t, err)
	if len(bags) < 8 {
		t.Fatalf("only %d bags", len(bags))
	}
	for _, dir := range bags {
		r := verify(t, dir)
		if want := !strings.Contains(dir, "/invalid/"); r.Good() != want {
			t.Errorf("%s: good %v: %q", dir, r.Good(), r.Problems())
		}
	}
}
