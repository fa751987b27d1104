//go:build unix

package handover

import (
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"

	"pushcue/internal/job"
	"pushcue/internal/placing"
	"pushcue/internal/seal"
	"pushcue/internal/shelf"
	"pushcue/internal/trouble"
	"pushcue/timeline"
	"pushcue/timeline/edits"
	"pushcue/timeline/fault"
	"pushcue/timeline/jobsheet"
)

// secret stands in every file outside the jobs of these tests.
const secret = "video,distance,what\n0:01,1 m,hunter2\n"

// trap makes a folder with what a stranger must not get at, and in it a job: names as for
// tree, links with their target after a ">".
func trap(t *testing.T, names ...string) string {
	t.Helper()
	top := tree(t, "outside/log.csv="+secret, "outside/outside.mp4="+secret, "outside/kinds.csv="+secret, "outside/logo.png="+secret, "outside/spoken/1.wav="+secret, "outside/job.toml=[job]\nreference = \"hunter2\"\n")
	job := filepath.Join(top, "jobs", "job")
	for _, name := range names {
		name, target, isLink := strings.Cut(name, ">")
		if isLink {
			path := filepath.Join(job, name)
			if err := errors.Join(os.MkdirAll(filepath.Dir(path), 0o755), os.Symlink(strings.ReplaceAll(target, "TOP", top), path)); err != nil {
				t.Fatal(err)
			}
			continue
		}
		name, text, _ := strings.Cut(name, "=")
		overwrite(t, filepath.Join(job, name), strings.ReplaceAll(text, "TOP", top))
	}
	return job
}

// saidOf is all that an error tells, hints included.
func saidOf(err error) string {
	if err == nil {
		return ""
	}
	list, _ := fault.In(err)
	said := err.Error()
	for _, f := range list {
		said += "\nhint: " + f.Hint.String()
	}
	return said
}

func TestAJobReachesNothingOutsideItsFolder(t *testing.T) {
	const video = "rec.mp4=x"
	for what, names := range map[string][]string{
		"a recording by its path":       {"job.toml=[recording]\nfiles = [\"../../outside/outside.mp4\"]\n"},
		"a recording by its whole path": {"job.toml=[recording]\nfiles = [\"TOP/outside/outside.mp4\"]\n"},
		"a recording in backslashes":    {"job.toml=[recording]\nfiles = ['..\\..\\outside\\outside.mp4']\n"},
		"a linked recording":            {"rec.mp4>../../outside/outside.mp4"},
		"a linked recording, absolute":  {"rec.mp4>TOP/outside/outside.mp4"},
		"one of several parts":          {video, "rec2.mp4>TOP/outside/outside.mp4"},
		"a recording in a linked folder": {"job.toml=[recording]\nfiles = [\"card/outside.mp4\"]\n",
			"card>TOP/outside"},
		"a log by its path":    {video, "job.toml=[log]\nfile = \"../../outside/log.csv\"\n"},
		"a system's file":      {video, "job.toml=[log]\nfile = \"../../../../../../../../etc/passwd\"\n"},
		"a linked log":         {video, "log.csv>../../outside/log.csv"},
		"a linked log, twice":  {video, "log.csv>one", "one>two", "two>TOP/outside/log.csv"},
		"kinds":                {video, "job.toml=[log]\nkinds = \"../../outside/kinds.csv\"\n"},
		"linked kinds":         {video, "kinds.csv>TOP/outside/kinds.csv", "job.toml=[log]\nkinds = \"kinds.csv\"\n"},
		"readings":             {video, "job.toml=[distance]\nreadings = \"../../outside/log.csv\"\n"},
		"linked readings":      {video, "counter.csv>TOP/outside/log.csv", "job.toml=[distance]\nreadings = \"counter.csv\"\n"},
		"a linked job sheet":   {video, "job.toml>TOP/outside/job.toml"},
		"a linked firm's":      {video, "firm.toml>TOP/outside/log.csv"},
		"a linked visit's":     {video, "../visit.toml>TOP/outside/log.csv"},
		"a firm's kinds":       {video, "../../outside/x=", "../firm.toml=[log]\nkinds = \"kinds.csv\"\n", "../kinds.csv=code,words\nA,roots\n"},
		"linked corrections":   {video, "edits.jsonl>TOP/outside/log.csv"},
		"corrections, inward":  {video, "edits.jsonl>log.csv", "log.csv=" + secret},
		"endless corrections":  {video, "edits.jsonl>/dev/zero"},
		"a linked handover":    {video, "handover>TOP/outside"},
		"an inward handover":   {video, "handover>."},
		"a linked work folder": {video, "work>TOP/outside"},
		"a file as handover":   {video, "handover=x"},
	} {
		j := trap(t, names...)
		for _, a := range []job.Ask{{Path: j}, {Path: j, ToAsk: true}} {
			visit, err := job.Open(context.Background(), a)
			if err == nil && a.ToAsk { // asked about when it is placed
				_, err = placing.ReadInputs(context.Background(), visit.Jobs[0])
			}
			var trouble *trouble.Trouble
			if errors.As(err, &trouble) { // one of our own folders
				err = fault.Of(fault.Fault{Text: trouble.Text, Hint: trouble.Hint})
			}
			list, ok := fault.In(err)
			if !ok {
				t.Errorf("%s: %v", what, err)
				continue
			}
			said := saidOf(err)
			if strings.Contains(said, "hunter2") || strings.Contains(said, "root:") {
				t.Errorf("%s: the file is quoted: %s", what, said)
			}
			if slices.ContainsFunc(list, func(f fault.Fault) bool { return f.Hint.Empty() }) {
				t.Errorf("%s: no hint in %s", what, said)
			}
		}
	}
}

// The person who runs pushcue may say that a job sheet is to be trusted.
func TestOutsideIsReadWhereAskedFor(t *testing.T) {
	j := trap(t, "job.toml=[recording]\nfiles = [\"../../outside/outside.mp4\"]\n[log]\nfile = \"log.csv\"\nkinds = \"../../outside/kinds.csv\"\n", "log.csv>TOP/outside/log.csv")
	v, err := job.Open(context.Background(), job.Ask{Path: j, Outside: true})
	if err != nil {
		t.Fatal(saidOf(err))
	}
	if _, err := placing.ReadInputs(context.Background(), v.Jobs[0]); err != nil && strings.Contains(saidOf(err), "outside") {
		t.Error(saidOf(err))
	}
	given := job.Ask{Path: trap(t, "x="), Videos: []string{filepath.Join(j, "..", "..", "outside", "outside.mp4")}, Log: filepath.Join(j, "log.csv")}
	if _, err := job.Open(context.Background(), given); err != nil {
		t.Errorf("named on the command line: %s", saidOf(err))
	}
	_, err = job.Open(context.Background(), job.Ask{Path: trap(t, "rec.mp4=x", "edits.jsonl>TOP/outside/log.csv"), Outside: true})
	if !strings.Contains(saidOf(err), "it is a link") {
		t.Errorf("linked corrections with --outside: %v", err)
	}
}

func TestAJobSharesWithItsVisit(t *testing.T) {
	top := tree(t, "visit/visit.toml=[site]\naddress = \"12 Alder Row\"\n[log]\nkinds = \"kinds.csv\"\n", "visit/kinds.csv=code,words\nA,roots\n", "visit/card/rec.mp4=x",
		"visit/up/job.toml=[recording]\nfiles = [\"../card/rec.mp4\"]\n", "secret.mp4=x", "visit/down/job.toml=[recording]\nfiles = [\"../../secret.mp4\"]\n")
	v, err := job.Open(context.Background(), job.Ask{Path: filepath.Join(top, "visit", "up")})
	if err != nil || v.Jobs[0].Kinds == nil {
		t.Errorf("a file of the visit: %v", saidOf(err))
	}
	if _, err := job.Open(context.Background(), job.Ask{Path: filepath.Join(top, "visit", "down")}); !strings.Contains(saidOf(err), "outside the job folder") {
		t.Errorf("a file outside the visit: %v", err)
	}
}

// What of the notes and photos can't be reached is named, and the rest goes on.
func TestNotesAndPhotosOutsideAreNamed(t *testing.T) {
	push := trap(t, "rec.mp4=x", "photos/1.jpg>TOP/outside/logo.png", "spoken>TOP/outside/spoken", "photos/deep>TOP/outside")
	if err := syscall.Mkfifo(filepath.Join(push, "photos", "2.jpg"), 0o600); err != nil {
		t.Fatal(err)
	}
	v, err := job.Open(context.Background(), job.Ask{Path: push})
	if err != nil {
		t.Fatal(saidOf(err))
	}
	j := v.Jobs[0]
	b, err := placing.LookBeside(context.Background(), j, nil)
	if err != nil {
		t.Fatal(err)
	}
	p := &placing.Placed{Job: j, Timeline: &timeline.Timeline{}}
	p.Attach(b)
	var said []string
	for _, w := range p.Warnings {
		if w.Open() {
			said = append(said, w.Text.String())
		}
	}
	slices.Sort(said)
	want := []string{
		"photos/1.jpg isn't handed over: it lies outside the job folder, or a link on the way to it leads out",
		"photos/2.jpg isn't handed over: it isn't a file but a pipe",
		"spoken is a link to a folder, and isn't followed: nothing of it is handed over",
	}
	if !slices.Equal(said, want) {
		t.Errorf("said:\n%s\nwant:\n%s", strings.Join(said, "\n"), strings.Join(want, "\n"))
	}
	if len(j.Spoken) > 0 || len(j.Photos) != 2 {
		t.Errorf("%v, %v", j.Spoken, j.Photos)
	}
}

func TestTheLogoLiesBesideTheSheetThatNamesIt(t *testing.T) {
	for what, c := range map[string]struct {
		names []string
		want  string // of the warning; "" for a logo that is opened, though it is none
	}{
		"the job's":                   {[]string{"job.toml=[firm]\nlogo = \"logo.png\"\n", "logo.png=x"}, "neither PNG nor JPEG"},
		"the firm's":                  {[]string{"../firm.toml=[firm]\nlogo = \"logo.png\"\n", "../logo.png=x"}, "neither PNG nor JPEG"},
		"the job's, above":            {[]string{"job.toml=[firm]\nlogo = \"../logo.png\"\n", "../logo.png=x"}, "outside the job folder"},
		"beyond the firm's":           {[]string{"../firm.toml=[firm]\nlogo = \"../outside/logo.png\"\n"}, "outside the job folder"},
		"a link":                      {[]string{"job.toml=[firm]\nlogo = \"logo.png\"\n", "logo.png>TOP/outside/logo.png"}, "outside the job folder"},
		"a link beside the firm's":    {[]string{"../firm.toml=[firm]\nlogo = \"logo.png\"\n", "../logo.png>TOP/outside/logo.png"}, "outside the job folder"},
		"a device":                    {[]string{"job.toml=[firm]\nlogo = \"/dev/zero\"\n"}, "outside the job folder"},
		"corrected, of the job":       {[]string{"logo.png=x", `edits.jsonl={"id":"a","what":"sheet","values":{"firm.logo":"logo.png"}}` + "\n"}, "neither PNG nor JPEG"},
		"the firm's log, as its logo": {[]string{"../firm.toml=[firm]\nlogo = \"../../../../../../../../etc/passwd\"\n"}, "outside the job folder"},
	} {
		j := trap(t, append(c.names, "rec.mp4=x")...)
		v, err := job.Open(context.Background(), job.Ask{Path: j})
		if err != nil {
			t.Errorf("%s: %v", what, saidOf(err))
			continue
		}
		_, warning := readLogo(v.Jobs[0])
		if warning == nil || !strings.Contains(warning.Text.String(), c.want) {
			t.Errorf("%s: %+v", what, warning)
		}
	}
	// The user's own settings may link to it, as people do who keep all of theirs in one place.
	settings := filepath.Join(filepath.Dir(trap(t, "x=")), "..", "settings")
	overwrite(t, filepath.Join(settings, jobsheet.FirmFile), "[firm]\nlogo = \"logo.png\"\n")
	if err := os.Symlink("../outside/logo.png", filepath.Join(settings, "logo.png")); err != nil {
		t.Fatal(err)
	}
	v, err := job.Open(context.Background(), job.Ask{Path: trap(t, "rec.mp4=x"), Settings: filepath.Clean(settings)})
	if err != nil {
		t.Fatal(saidOf(err))
	}
	if _, warning := readLogo(v.Jobs[0]); warning == nil || !strings.Contains(warning.Text.String(), "neither PNG nor JPEG") {
		t.Errorf("linked in the settings: %+v", warning)
	}
}

// A pipe that nobody writes to, a socket, a device: were one opened as a file is, the
// test would never come to its end.
func TestWhatBlocksIsRefusedAtOnce(t *testing.T) {
	names := map[string]string{ // and the rest of the job
		"rec.mp4": "", "log.csv": "", "kinds.csv": "[log]\nkinds = \"kinds.csv\"\n", "counter.csv": "[distance]\nreadings = \"counter.csv\"\n",
		"job.toml": "", "firm.toml": "", "../firm.toml": "", "../visit.toml": "", edits.File: "",
	}
	for name, sheet := range names {
		for kind, make := range map[string]func(string) error{
			"pipe":   func(path string) error { return syscall.Mkfifo(path, 0o600) },
			"socket": bound,
			"folder": func(path string) error { return os.Mkdir(path, 0o755) },
		} {
			rest := []string{"rec.mp4=x"}
			if name == "rec.mp4" {
				rest = []string{"job.toml=[recording]\nfiles = [\"rec.mp4\"]\n"}
			} else if sheet != "" {
				rest = append(rest, "job.toml="+sheet)
			}
			j := trap(t, rest...)
			if err := make(filepath.Join(j, filepath.FromSlash(name))); err != nil {
				t.Fatal(err)
			}
			_, err := job.Open(context.Background(), job.Ask{Path: j})
			if kind == "folder" && (name == "log.csv" || name == "../visit.toml" && err == nil) {
				continue // a folder of that name is none of the job's files
			}
			if list, ok := fault.In(err); !ok || !strings.Contains(saidOf(err), "it isn't a file but a "+kind) || list[0].Hint.Empty() {
				t.Errorf("a %s as %s: %v", kind, name, saidOf(err))
			}
		}
	}
	for _, kind := range []string{"list of sums", "our own notes"} {
		j := trap(t, "rec.mp4=x", "handover/index.html=x", "work/x=")
		path := filepath.Join(j, "handover", shelf.SumsName)
		if kind == "our own notes" {
			path = filepath.Join(j, "work", job.SourcesName)
		}
		if err := syscall.Mkfifo(path, 0o600); err != nil {
			t.Fatal(err)
		}
		_, err := Finish(context.Background(), job.Ask{Path: j})
		if kind == "list of sums" && !strings.Contains(saidOf(err), "it isn't a file but a pipe") {
			t.Errorf("a pipe as %s: %v", kind, err)
		}
		if known := job.ReadSums(filepath.Join(j, "work"), seal.Of("", "")).Known; len(known) > 0 {
			t.Errorf("%v", known)
		}
	}
}

// bound makes a socket, whose path may be longer than a system's call takes.
func bound(path string) error {
	dir, err := os.MkdirTemp("", "s")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	short := filepath.Join(dir, "s")
	l, err := net.ListenUnix("unix", &net.UnixAddr{Name: short, Net: "unix"})
	if err != nil {
		return err
	}
	l.SetUnlinkOnClose(false)
	return errors.Join(l.Close(), os.Rename(short, path))
}

func TestTooLargeIsToldWithItsLimit(t *testing.T) {
	for name, want := range map[string]string{
		"job.toml": "larger than 256 KB", edits.File: "larger than 64 MB", "log.csv": "larger than 64 MB", "rec.mp4": "larger than 1024 GB",
	} {
		j := trap(t, "rec.mp4=x", "job.toml=", "log.csv=x")
		path := filepath.Join(j, name)
		overwrite(t, path, "")
		if err := os.Truncate(path, 2<<40); err != nil {
			t.Skipf("no file of such a size can be made here: %v", err)
		}
		_, err := job.Open(context.Background(), job.Ask{Path: j})
		if !strings.Contains(saidOf(err), want) {
			t.Errorf("%s: %s", name, saidOf(err))
		}
	}
}

// An archive takes in what a job may reach: a link that leads out would carry anything
// of the computer to whoever gets the archive.
func TestAnArchiveFollowsNoLinkThatLeadsOut(t *testing.T) {
	j := trap(t, "rec.mp4=x", "log.csv=video\n", "notes>TOP/outside", "more/key>TOP/outside/log.csv", "inward>log.csv", "handover/SHA256SUMS=")
	v, err := job.Open(context.Background(), job.Ask{Path: j})
	if err != nil {
		t.Fatal(saidOf(err))
	}
	f, err := Finish(context.Background(), job.Ask{Path: j})
	if err != nil {
		t.Fatal(saidOf(err))
	}
	files, outside, linked, err := Payload(context.Background(), v, f)
	if err != nil || len(outside) > 0 || !slices.Equal(linked, []string{"more/key", "notes"}) {
		t.Errorf("outside %q, linked %q, %v", outside, linked, err)
	}
	var names []string
	for _, k := range files {
		names = append(names, k.Name)
		in, err := k.Open()
		if err != nil {
			t.Errorf("%s: %v", k.Name, err)
			continue
		}
		in.Close()
	}
	if want := []string{"handover/SHA256SUMS", "inward", "log.csv", "rec.mp4"}; !slices.Equal(names, want) {
		t.Errorf("kept %q, want %q", names, want)
	}
	// Exchanged once the list stands.
	for _, k := range files {
		if err := errors.Join(os.Remove(k.Path), os.Symlink(filepath.Join(filepath.Dir(filepath.Dir(j)), "outside", "log.csv"), k.Path)); err != nil {
			t.Fatal(err)
		}
		if in, err := k.Open(); err == nil {
			in.Close()
			t.Errorf("%s was read through a link that was put there meanwhile", k.Name)
		}
	}
}

func TestAForgedCorrectionNamesNothingOutside(t *testing.T) {
	for _, values := range []string{`"log.file":"../../outside/log.csv"`, `"recording.files":["../../outside/outside.mp4"]`, `"log.kinds":"../../outside/kinds.csv"`} {
		push := trap(t, "rec.mp4=x", "log.csv=video\n", fmt.Sprintf(`edits.jsonl={"id":"a","what":"sheet","values":{%s}}`+"\n", values))
		v, err := job.Open(context.Background(), job.Ask{Path: push, Outside: true})
		if err != nil {
			t.Errorf("%s: %s", values, saidOf(err))
			continue
		}
		if j := v.Jobs[0]; j.Log.Name != "log.csv" || j.Videos[0].Name != "rec.mp4" || j.Kinds != nil || len(j.Edits.Faults) != 1 {
			t.Errorf("%s counts: %+v", values, j)
		}
	}
}

// A file where a folder of ours belongs is told as that.
func TestAFileInTheWayIsNamed(t *testing.T) {
	j := trap(t, "rec.mp4=x", "work=x", "made=x")
	v, err := job.Open(context.Background(), job.Ask{Path: j})
	if err != nil {
		t.Fatal(saidOf(err))
	}
	g, err := openGround(v)
	g.close()
	var trouble *trouble.Trouble
	if !errors.As(err, &trouble) || !strings.Contains(err.Error(), "something else stands there") || trouble.Hint.Empty() {
		t.Errorf("a file as work: %v", err)
	}
	if _, err := job.Open(context.Background(), job.Ask{Path: j, Out: filepath.Join(j, "made")}); !strings.Contains(saidOf(err), "this is a file, and a handover is a folder") {
		t.Errorf("a file as --out: %v", err)
	}
}
