package drive

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"

	"github.com/google/go-cmp/cmp"

	"pushcue/internal/manifest"
	"pushcue/internal/safefile"
	"pushcue/timeline/fault"
)

func TestCopyStandsProvenAndCoreutilsAgree(t *testing.T) {
	root := handover(t, sample)
	stick := t.TempDir()
	theirs := filepath.Join(stick, "holiday.jpg")
	must(t, os.WriteFile(theirs, []byte("not ours"), 0o644))

	var last Progress
	out, err := Copy(context.Background(), load(t, root), stick, func(p Progress) { last = p })
	if err != nil {
		t.Fatal(err)
	}
	if out.Copied != len(sample) || out.Kept != 0 || last.Done != last.Total {
		t.Errorf("outcome %+v, progress ended at %d of %d", out, last.Done, last.Total)
	}
	check := exec.Command("sha256sum", "-c", "--strict", ListName)
	check.Dir = out.Folder
	if said, err := check.CombinedOutput(); err != nil {
		t.Errorf("sha256sum -c: %v\n%s", err, said)
	}
	if diff := cmp.Diff(append(names(sample), ListName), walk(t, out.Folder), sorted); diff != "" {
		t.Errorf("on the drive: %s", diff)
	}
	if b, _ := os.ReadFile(theirs); string(b) != "not ours" {
		t.Error("a file beside the copy was touched")
	}
}

func TestSecondRunCopiesOnlyWhatIsNew(t *testing.T) {
	root := handover(t, sample)
	stick := t.TempDir()
	first := copied(t, root, stick)
	must(t, os.WriteFile(filepath.Join(first.Folder, "note.txt"), []byte("the customer's own"), 0o644))

	changed := map[string]string{"index.html": "another page", "timeline.json": "{}", "video/run.mp4": sample["video/run.mp4"]}
	out := copied(t, handover(t, changed), stick)
	if out.Kept != 2 || out.Copied != 1 {
		t.Errorf("kept %d, copied %d; want 2 and 1", out.Kept, out.Copied)
	}
	if diff := cmp.Diff([]string{"note.txt"}, out.Foreign); diff != "" {
		t.Errorf("foreign files: %s", diff)
	}
	want := []string{ListName, "index.html", "note.txt", "timeline.json", "video/run.mp4"}
	if diff := cmp.Diff(want, walk(t, out.Folder), sorted); diff != "" {
		t.Errorf("stale files of ours stay, or others went: %s", diff)
	}
}

func TestFlippedBitOnTheDriveIsCopiedAgain(t *testing.T) {
	root := handover(t, sample)
	stick := t.TempDir()
	first := copied(t, root, stick)
	flip(t, filepath.Join(first.Folder, "video", "run.mp4"))
	out := copied(t, root, stick)
	if out.Copied != 1 || out.Kept != len(sample)-1 {
		t.Errorf("kept %d, copied %d", out.Kept, out.Copied)
	}
}

func TestDriveThatAltersWhatIsWrittenIsFound(t *testing.T) {
	withDevice(t, func(file string, d device) device {
		if strings.Contains(file, "run.mp4") {
			return altering{d}
		}
		return d
	})
	_, err := Copy(context.Background(), load(t, handover(t, sample)), t.TempDir(), nil)
	var unproven *Unproven
	if !errors.As(err, &unproven) || !strings.Contains(err.Error(), "run.mp4") {
		t.Fatalf("got %v", err)
	}
}

func TestHandoverThatChangedSinceItsListIsNotCopied(t *testing.T) {
	root := handover(t, sample)
	c := load(t, root)
	flip(t, filepath.Join(root, "index.html"))
	stick := t.TempDir()
	_, err := Copy(context.Background(), c, stick, nil)
	var unproven *Unproven
	if !errors.As(err, &unproven) {
		t.Fatalf("got %v", err)
	}
	if _, err := os.Stat(filepath.Join(stick, c.Folder, "index.html")); err == nil {
		t.Error("the changed file got its name on the drive")
	}
}

// A device that fails after some bytes, at any byte, loses nothing that was proven
// and is taken up again.
func TestCopyThatFailsAnywhereIsContinued(t *testing.T) {
	root := handover(t, sample)
	c := load(t, root)
	random := rand.New(rand.NewPCG(1, 2))
	for _, failure := range []error{syscall.EIO, syscall.ENOSPC, syscall.ENODEV} {
		for range 12 {
			stick := t.TempDir()
			left := random.Int64N(bytesOf(c))
			withDevice(t, func(_ string, d device) device { return &failing{d, &left, failure} })
			out, err := Copy(context.Background(), c, stick, nil)
			faults, told := fault.In(err)
			if !told || len(faults) != 1 || faults[0].Hint.Empty() {
				t.Fatalf("after %v: got %v", failure, err)
			}
			if _, err := os.Stat(filepath.Join(stick, c.Folder, ListName)); err == nil {
				t.Fatal("the list of sums stands though the copy isn't finished")
			}
			if _, err := os.Stat(filepath.Join(stick, c.Folder, NoteName)); err != nil && out.Copied > 0 {
				t.Fatal("nothing on the drive says that the copy isn't finished")
			}
			proven := out.Copied
			withDevice(t, func(_ string, d device) device { return d })
			again := copied(t, root, stick)
			if again.Kept < proven || again.Kept+again.Copied != len(sample) {
				t.Errorf("proven before %d; then kept %d, copied %d", proven, again.Kept, again.Copied)
			}
		}
	}
}

func TestInterruptedCopyIsContinued(t *testing.T) {
	root := handover(t, sample)
	c := load(t, root)
	stick := t.TempDir()
	ctx, stop := context.WithCancel(context.Background())
	_, err := Copy(ctx, c, stick, func(p Progress) {
		if p.Step.String() == "reading back" {
			stop()
		}
	})
	if !errors.Is(err, context.Canceled) {
		t.Fatalf("got %v", err)
	}
	out := copied(t, root, stick)
	if out.Kept+out.Copied != len(sample) {
		t.Errorf("outcome %+v", out)
	}
	for _, name := range walk(t, out.Folder) {
		if strings.HasSuffix(name, ".partial") || name == NoteName {
			t.Errorf("%s was left", name)
		}
	}
}

// A real full file system: 1 MiB of memory disk, mounted where the system lets us.
func TestFullDriveIsToldBeforeTheFirstByte(t *testing.T) {
	stick := smallDisk(t, "1m")
	root := handover(t, map[string]string{"a.bin": strings.Repeat("x", 3<<20)})
	_, err := Copy(context.Background(), load(t, root), stick, nil)
	faults, told := fault.In(err)
	if !told || !strings.Contains(faults[0].Text.String(), "room") {
		t.Fatalf("got %v", err)
	}
	if got := walk(t, stick); len(got) > 0 {
		t.Errorf("left on the drive: %v", got)
	}
}

func TestFileTooLongForTheDriveIsNamedAndLeftOut(t *testing.T) {
	root := handover(t, sample)
	stick := t.TempDir()
	r := &run{cargo: load(t, root), drive: stick, out: &Outcome{}}
	must(t, r.look(context.Background()))
	r.out.TooLarge, r.files = nil, nil
	r.longest = int64(len(sample["video/run.mp4"])) - 1
	r.divide()
	if diff := cmp.Diff([]string{"video/run.mp4"}, r.out.TooLarge); diff != "" {
		t.Error(diff)
	}
	if len(r.files) != len(sample)-1 {
		t.Errorf("%d files left to copy", len(r.files))
	}
}

func TestUnusableDrivesAreRefusedUntouched(t *testing.T) {
	root := handover(t, sample)
	foreign := t.TempDir()
	must(t, os.MkdirAll(filepath.Join(foreign, "2291-B"), 0o755))
	must(t, os.WriteFile(filepath.Join(foreign, "2291-B", "thesis.doc"), []byte("x"), 0o644))
	for name, stick := range map[string]string{
		"not there":                 filepath.Join(t.TempDir(), "gone"),
		"inside the handover":       root,
		"somebody else's folder":    foreign,
		"a file instead of a drive": filepath.Join(root, "index.html"),
	} {
		t.Run(name, func(t *testing.T) {
			_, err := Copy(context.Background(), load(t, root), stick, nil)
			faults, told := fault.In(err)
			if !told || faults[0].Hint.Empty() {
				t.Errorf("got %v", err)
			}
		})
	}
	if diff := cmp.Diff([]string{"2291-B/thesis.doc"}, walk(t, foreign)); diff != "" {
		t.Errorf("the foreign folder was touched: %s", diff)
	}
}

func TestFolderNamesThatSomeSystemsRefuse(t *testing.T) {
	for _, name := range []string{"", ".", "..", "a/b", `a\b`, "a:b", "what?", "ends.", "ends ", "tab\there", "con", "Lpt1.txt", strings.Repeat("x", 250)} {
		if _, err := Load(context.Background(), handover(t, sample), name); err == nil {
			t.Errorf("%q accepted", name)
		}
	}
}

var sample = map[string]string{
	"index.html":           "page",
	"timeline.json":        "{}",
	"video/run.mp4":        strings.Repeat("moving pictures ", 40_000),
	"stills/01 größe.jpg":  strings.Repeat("roots", 9_000),
	"clips/01_roots.mp4":   "clip",
	"as-filmed/part 1.avi": "",
}

func handover(t *testing.T, files map[string]string) string {
	t.Helper()
	root := t.TempDir()
	for name, text := range files {
		file := filepath.Join(root, filepath.FromSlash(name))
		must(t, os.MkdirAll(filepath.Dir(file), 0o755))
		must(t, os.WriteFile(file, []byte(text), 0o644))
	}
	list, err := manifest.Sum(context.Background(), root, names(files), []manifest.Algorithm{manifest.SHA256}, nil)
	must(t, err)
	var text bytes.Buffer
	must(t, manifest.WriteCoreutils(&text, manifest.SHA256, list))
	must(t, os.WriteFile(filepath.Join(root, ListName), text.Bytes(), 0o644))
	return root
}

func load(t *testing.T, root string) *Cargo {
	t.Helper()
	c, err := Load(context.Background(), root, "2291-B")
	must(t, err)
	return c
}

func bytesOf(c *Cargo) int64 {
	var n int64
	for _, f := range c.Files {
		n += f.Size
	}
	return n
}

func copied(t *testing.T, root, stick string) *Outcome {
	t.Helper()
	out, err := Copy(context.Background(), load(t, root), stick, nil)
	must(t, err)
	return out
}

func names(files map[string]string) []string {
	var all []string
	for name := range files {
		all = append(all, name)
	}
	return all
}

var sorted = cmp.Transformer("sorted", func(s []string) map[string]bool {
	set := map[string]bool{}
	for _, v := range s {
		set[v] = true
	}
	return set
})

func walk(t *testing.T, dir string) []string {
	t.Helper()
	all, err := manifest.Walk(context.Background(), dir)
	must(t, err)
	return all
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func flip(t *testing.T, file string) {
	t.Helper()
	b, err := os.ReadFile(file)
	must(t, err)
	b[len(b)/2] ^= 1
	must(t, os.WriteFile(file, b, 0o644))
}

var plain = create

// withDevice has every file on the drive pass through wrap until the test ends.
func withDevice(t *testing.T, wrap func(file string, d device) device) {
	t.Helper()
	create = func(root *safefile.Folder, file string) (device, error) {
		f, err := plain(root, file)
		if err != nil {
			return nil, err
		}
		return wrap(file, f), nil
	}
	t.Cleanup(func() { create = plain })
}

type altering struct{ device }

func (a altering) Write(p []byte) (int, error) {
	q := bytes.Clone(p)
	if len(q) > 0 {
		q[0] ^= 1
	}
	return a.device.Write(q)
}

type failing struct {
	device
	left *int64
	err  error
}

func (f *failing) Write(p []byte) (int, error) {
	if *f.left -= int64(len(p)); *f.left < 0 {
		return 0, &os.PathError{Op: "write", Path: "drive", Err: f.err}
	}
	return f.device.Write(p)
}

// smallDisk is a memory disk of the given size. Where none can be mounted (it
// takes Linux and root) the test can't be made.
func smallDisk(t *testing.T, size string) string {
	t.Helper()
	if runtime.GOOS != "linux" || os.Geteuid() != 0 {
		t.Skip("a small disk can be mounted by root on Linux only")
	}
	dir := t.TempDir()
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", fmt.Sprintf("size=%s", size), "tmpfs", dir).CombinedOutput(); err != nil {
		t.Skipf("no small disk can be mounted here: %s", out)
	}
	t.Cleanup(func() {
		if out, err := exec.Command("umount", dir).CombinedOutput(); err != nil {
			t.Errorf("umount: %s", out)
		}
	})
	return dir
}
