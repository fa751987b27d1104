package reach

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
)

// place makes files in a new folder, their text after a "=", and links, their target
// after a ">". DIR in a target is the new folder.
func place(t *testing.T, names ...string) string {
	t.Helper()
	dir := t.TempDir()
	for _, name := range names {
		name, text, _ := strings.Cut(name, "=")
		name, target, isLink := strings.Cut(name, ">")
		path := filepath.Join(dir, filepath.FromSlash(name))
		err := os.MkdirAll(filepath.Dir(path), 0o755)
		switch {
		case err != nil:
		case isLink:
			err = os.Symlink(strings.ReplaceAll(target, "DIR", dir), path)
		default:
			err = os.WriteFile(path, []byte(text), 0o644)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func TestAJobNamesItsOwnFilesOnly(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("few users may make links there")
	}
	dir := place(t, "secret=secret", "visit/shared.csv=visit's", "visit/job/log.csv=job's", "visit/job/below/deep.csv=job's",
		"visit/job/inward>log.csv", "visit/job/inward-absolute>DIR/visit/job/log.csv", "visit/job/up>../shared.csv",
		"visit/job/out>../../secret", "visit/job/out-absolute>DIR/secret", "visit/job/twice>out", "visit/job/folder>../..",
		"visit/job/nowhere>missing", "alias>visit/job")
	job := filepath.Join(dir, "visit", "job")
	own := &Reach{Folders: []string{job}}
	visit := &Reach{Folders: []string{job, filepath.Join(dir, "visit")}}
	for _, c := range []struct {
		reach *Reach
		path  string
		want  string // text, or the error
	}{
		{own, job + "/log.csv", "job's"},
		{own, job + "/below/../log.csv", "job's"},
		{own, job + "/below/deep.csv", "job's"},
		{own, job + "/inward", "job's"},
		{own, job + "/inward-absolute", "job's"},
		{own, job + "/../job/log.csv", "job's"},
		{own, job + "/up", "outside"},
		{own, job + "/../shared.csv", "outside"},
		{visit, job + "/up", "visit's"},
		{visit, job + "/../shared.csv", "visit's"},
		{visit, job + "/inward-absolute", "job's"},
		{visit, job + "/out", "outside"},
		{own, job + "/out", "outside"},
		{own, job + "/out-absolute", "outside"},
		{own, job + "/twice", "outside"},
		{own, job + "/folder/secret", "outside"},
		{own, job + "/folder/visit/job/log.csv", "job's"},
		{own, job + "/../../secret", "outside"},
		{own, dir + "/secret", "outside"},
		{own, job + "/nowhere", "missing"},
		{own, job + "/missing.csv", "missing"},
		{own, job + "/below", "no file"},
		{&Reach{Folders: []string{dir + "/alias"}}, job + "/log.csv", "job's"},
		{&Reach{Folders: []string{dir + "/alias"}}, dir + "/alias/out", "outside"},
		{&Reach{Named: []string{dir + "/secret"}}, dir + "/secret", "secret"},
		{&Reach{Folders: []string{job}, Anywhere: true}, job + "/out", "secret"},
		{&Reach{}, job + "/log.csv", "outside"},
	} {
		text, err := c.reach.Read(c.path, 100)
		got := string(text)
		switch {
		case errors.Is(err, ErrOutside):
			got = "outside"
		case errors.Is(err, ErrNotFile):
			got = "no file"
		case errors.Is(err, fs.ErrNotExist):
			got = "missing"
		case err != nil:
			got = err.Error()
		}
		if got != c.want {
			t.Errorf("%s: got %q, want %q", strings.TrimPrefix(c.path, dir), got, c.want)
		}
	}
	if info, err := own.Stat(job + "/below"); err != nil || !info.IsDir() {
		t.Errorf("a folder of the job: %v", err)
	}
	if _, err := own.Stat(job + "/folder"); !errors.Is(err, ErrOutside) {
		t.Errorf("a linked folder outside: %v", err)
	}
}

func TestOurOwnFilesAreReachedThroughNoLink(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("few users may make links there")
	}
	dir := place(t, "handover/list=list", "handover/stills/a=a", "handover/in>stills/a", "handover/linked>stills", "handover/out>../outside", "outside=secret")
	ours := filepath.Join(dir, "handover")
	for name, want := range map[string]string{"list": "list", "stills/a": "a", "in": "link", "linked/a": "link", "out": "link", "../outside": "outside", "gone": "missing", "stills": "no file"} {
		text, err := ReadBeneath(ours, name, 100)
		got := string(text)
		switch {
		case errors.Is(err, ErrLink):
			got = "link"
		case errors.Is(err, ErrOutside):
			got = "outside"
		case errors.Is(err, ErrNotFile):
			got = "no file"
		case errors.Is(err, fs.ErrNotExist):
			got = "missing"
		case err != nil:
			got = err.Error()
		}
		if got != want {
			t.Errorf("%s: got %q, want %q", name, got, want)
		}
	}
}

func TestWhatIsTooLargeIsNotRead(t *testing.T) {
	dir := place(t, "small=12345", "large=123456")
	r := &Reach{Folders: []string{dir}}
	if text, err := r.Read(filepath.Join(dir, "small"), 5); err != nil || string(text) != "12345" {
		t.Errorf("%q, %v", text, err)
	}
	for what, read := range map[string]func() ([]byte, error){
		"reach":   func() ([]byte, error) { return r.Read(filepath.Join(dir, "large"), 5) },
		"named":   func() ([]byte, error) { return Read(filepath.Join(dir, "large"), 5) },
		"beneath": func() ([]byte, error) { return ReadBeneath(dir, "large", 5) },
	} {
		if text, err := read(); !errors.Is(err, ErrLarge) || text != nil {
			t.Errorf("%s: %q, %v", what, text, err)
		}
	}
	if got := tooLarge(64 << 20).Error(); !strings.Contains(got, "larger than 64 MB") {
		t.Error(got)
	}
}

// Whoever may write to the job folder exchanges files between our look at them and the
// opening: nothing from outside is ever read.
func TestAnExchangeBetweenLookAndOpeningReadsNothingOutside(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("few users may make links there")
	}
	dir := place(t, "job/log.csv=job's", "job/spoken/a.wav=job's", "outside/a.wav=secret", "secret=secret")
	job := filepath.Join(dir, "job")
	exchange := func(path, target string) func() {
		return func() {
			if err := errors.Join(os.Rename(path, path+".kept"), os.Symlink(target, path)); err != nil {
				t.Fatal(err)
			}
		}
	}
	restore := func(path string) {
		if info, err := os.Lstat(path + ".kept"); err == nil && info != nil {
			if err := errors.Join(os.Remove(path), os.Rename(path+".kept", path)); err != nil {
				t.Fatal(err)
			}
		}
	}
	defer func() { between = func() {} }()
	r := &Reach{Folders: []string{job}}
	opened := 0
	for n := range 1000 {
		file, swapped, target := filepath.Join(job, "log.csv"), filepath.Join(job, "log.csv"), filepath.Join(dir, "secret")
		if n%2 == 1 {
			target = "../secret"
		}
		if n%4 > 1 { // the folder on the way
			file, swapped, target = filepath.Join(job, "spoken", "a.wav"), filepath.Join(job, "spoken"), filepath.Join(dir, "outside")
		}
		open := func(path string) (*os.File, error) { return r.Open(path, 100) }
		if n%3 == 0 {
			open = func(path string) (*os.File, error) {
				rel, _ := filepath.Rel(job, path)
				return Beneath(job, rel, 100)
			}
		}
		stage, at := 0, 1+n/4%3 // at which moment
		between = func() {
			if stage++; stage == at {
				exchange(swapped, target)()
			}
		}
		f, err := open(file)
		between = func() {}
		if err == nil {
			opened++
			if text, _ := io.ReadAll(f); string(text) != "job's" {
				t.Fatalf("exchange %d: read %q", n, text)
			}
			f.Close()
		}
		restore(swapped)
	}
	if opened == 0 || opened == 1000 {
		t.Errorf("%d of 1000 were opened: the exchanges weren't where they belong", opened)
	}
}

func TestNamesThatWindowsKeepsForItself(t *testing.T) {
	for _, name := range []string{
		`C:rec.mp4`, `C:`, `rec.mp4:stream`, `C:\job\rec.mp4::$DATA`, `\\.\PhysicalDrive0`, `\\?\C:\x`, `\\.\pipe\x`, `//./COM1`,
		`NUL`, `nul.csv`, `job/con/log.csv`, `COM1`, `com9.mp4`, `LPT²`, `aux .txt`, `CONIN$`,
	} {
		if !strangeOnWindows(name) {
			t.Errorf("%s passes for a file", name)
		}
	}
	for _, name := range []string{`C:\job\rec.mp4`, `rec.mp4`, `\\server\jobs\rec.mp4`, `console.csv`, `com.mp4`, `COM10.mp4`, `nullcline.csv`, `spoken/a.wav`} {
		if strangeOnWindows(name) {
			t.Errorf("%s is refused", name)
		}
	}
}

func TestAFolderIsKnownByWhateverNameItHas(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("few users may make links there")
	}
	dir := place(t, "job/handover/x=x", "alias>job", "jobs/x=x", "job/up>../jobs", "out>job/handover")
	job := filepath.Join(dir, "job")
	for path, want := range map[string]bool{
		job: true, job + "/handover": true, job + "/not/there": true, dir + "/alias": true, dir + "/alias/handover": true, dir + "/alias/not": true,
		dir + "/out": true, dir: false, dir + "/jobs": false, job + "/up": false, job + "/../jobs": false, dir + "/job2": false, "/": false,
	} {
		if got := Within(job, path); got != want {
			t.Errorf("%s: %v", path, got)
		}
	}
	if Within(dir+"/gone", dir) {
		t.Error("a folder that isn't there holds something")
	}
}

// A file of ours that a newer one takes the place of, as it is being opened, is no link.
func TestAFileReplacedWhileItIsOpenedIsRead(t *testing.T) {
	dir := place(t, "list=old")
	defer func() { between = func() {} }()
	times := 0
	between = func() {
		if times++; times > 5 {
			return
		}
		newer := filepath.Join(dir, "newer")
		if err := errors.Join(os.WriteFile(newer, []byte("new"), 0o644), os.Rename(newer, filepath.Join(dir, "list"))); err != nil {
			t.Fatal(err)
		}
	}
	if text, err := ReadBeneath(dir, "list", 100); err != nil || string(text) != "new" {
		t.Errorf("%q, %v", text, err)
	}
}
