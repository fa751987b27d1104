package handover

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pushcue/internal/job"
	"pushcue/internal/trouble"
	"pushcue/timeline/fault"
)

// tree makes files: names that end in a slash are folders.
func tree(t *testing.T, names ...string) string {
	t.Helper()
	dir := t.TempDir()
	for _, name := range names {
		name, text, _ := strings.Cut(name, "=")
		path := filepath.Join(dir, filepath.FromSlash(name))
		if strings.HasSuffix(name, "/") {
			if err := os.MkdirAll(path, 0o755); err != nil {
				t.Fatal(err)
			}
			continue
		}
		overwrite(t, path, text)
	}
	return dir
}

func sourceNames(ss []job.Source) []string {
	out := make([]string, len(ss))
	for i, s := range ss {
		out[i] = s.Name
	}
	return out
}

func TestAFolderWithoutASheetIsAJob(t *testing.T) {
	dir := tree(t, "part10.mp4", "part2.MP4", "._part2.mp4", "log.csv", "notes.txt", "photos/x.jpg", "handover/video/run.mp4")
	v, err := job.Open(context.Background(), job.Ask{Path: dir})
	if err != nil {
		t.Fatal(err)
	}
	j := v.Jobs[0]
	if got := sourceNames(j.Videos); !slices.Equal(got, []string{"part2.MP4", "part10.mp4"}) {
		t.Errorf("recording: %q", got)
	}
	if j.Log == nil || j.Log.Name != "log.csv" {
		t.Errorf("log: %v", j.Log)
	}
	if v.Out != filepath.Join(dir, "handover") || v.Work != filepath.Join(dir, "work") {
		t.Errorf("out %s, work %s", v.Out, v.Work)
	}
}

func TestTheSheetSaysWhereTheFilesAre(t *testing.T) {
	dir := tree(t, "job/job.toml=[recording]\nfiles = [\"../card/b.mp4\", \"a.mp4\"]\n[log]\nfile = \"field notes.csv\"\nkinds = \"kinds.csv\"\n[distance]\nreadings = \"counter.csv\"\n",
		"card/b.mp4", "job/a.mp4", "job/ignored.mp4", "job/field notes.csv", "job/log.csv", "job/kinds.csv", "job/counter.csv")
	for _, path := range []string{filepath.Join(dir, "job"), filepath.Join(dir, "job", "job.toml")} {
		v, err := job.Open(context.Background(), job.Ask{Path: path, Outside: true})
		if err != nil {
			t.Fatal(err)
		}
		j := v.Jobs[0]
		if got := sourceNames(j.Videos); !slices.Equal(got, []string{"../card/b.mp4", "a.mp4"}) || j.Videos[0].Path != filepath.Join(dir, "card", "b.mp4") {
			t.Errorf("recording: %+v", j.Videos)
		}
		if j.Log.Name != "field notes.csv" || j.Kinds.Name != "kinds.csv" || j.Readings.Name != "counter.csv" {
			t.Errorf("log %v, kinds %v, readings %v", j.Log, j.Kinds, j.Readings)
		}
	}
}

func TestFlagsStandInForAJobFolder(t *testing.T) {
	dir := tree(t, "a.mp4", "l.csv", "other.csv")
	out := filepath.Join(dir, "for customer")
	v, err := job.Open(context.Background(), job.Ask{Videos: []string{filepath.Join(dir, "a.mp4")}, Log: filepath.Join(dir, "l.csv"), Out: out})
	if err != nil {
		t.Fatal(err)
	}
	if v.Out != out || v.Work != out+"-work" || v.Jobs[0].Log.Name != "l.csv" {
		t.Errorf("%+v", v)
	}
}

func TestAVisitHoldsSeveralJobs(t *testing.T) {
	dir := tree(t, "visit.toml=[site]\naddress = \"12 Alder Row\"\n", "down/a.mp4", "down/log.csv", "up/job.toml=", "up/b.mp4", "photos/x.mp4", "empty/", "handover/c.mp4")
	v, err := job.Open(context.Background(), job.Ask{Path: dir})
	if err != nil {
		t.Fatal(err)
	}
	if !v.Many || len(v.Jobs) != 2 || v.Jobs[0].Name != "down" || v.Jobs[1].Name != "up" {
		t.Fatalf("%+v", v)
	}
	if v.Jobs[0].Sheet.Site.Address != "12 Alder Row" {
		t.Error("the visit's site isn't inherited")
	}
	if v.Jobs[0].Out != filepath.Join(v.Out, "down") {
		t.Error("jobs of a visit share a folder")
	}
}

func TestWhatIsMissingOrAmbiguousIsAsked(t *testing.T) {
	for _, c := range []struct {
		what  string
		files []string
		say   string
	}{
		{"two logs", []string{"a.mp4", "log.csv", "log.xlsx"}, "several files could be the log: log.csv, log.xlsx"},
		{"a table that isn't named log", []string{"a.mp4", "findings.csv"}, "but there is findings.csv"},
		{"no recording", []string{"log.csv"}, "holds no recording"},
		{"a part that isn't there", []string{"job.toml=[recording]\nfiles = [\"a.mp4\"]\n"}, "there is no such file"},
		{"a part named twice", []string{"a.mp4", "job.toml=[recording]\nfiles = [\"a.mp4\", \"./a.mp4\"]\n"}, "named twice"},
		{"a log that isn't there", []string{"a.mp4", "job.toml=[log]\nfile = \"x.csv\"\n"}, "there is no such file"},
		{"a folder as the log", []string{"a.mp4", "x.csv/", "job.toml=[log]\nfile = \"x.csv\"\n"}, "it isn't a file"},
		{"a misspelt key", []string{"a.mp4", "job.toml=[recording]\nfile = \"a.mp4\"\n"}, "file"},
	} {
		_, err := job.Open(context.Background(), job.Ask{Path: tree(t, c.files...)})
		list, ok := fault.In(err)
		if !ok || !strings.Contains(list.Error(), c.say) {
			t.Errorf("%s: got %v", c.what, err)
			continue
		}
		for _, f := range list {
			if f.Hint.Empty() {
				t.Errorf("%s: %q comes without a hint", c.what, f.Text)
			}
		}
	}
}

func TestTheHandoverNeverStandsAmongTheSources(t *testing.T) {
	dir := tree(t, "job/a.mp4", "job/log.csv")
	j := filepath.Join(dir, "job")
	for _, out := range []string{j, dir, j + string(filepath.Separator)} {
		_, err := job.Open(context.Background(), job.Ask{Path: j, Out: out})
		var refusal *trouble.Refusal
		if !errors.As(err, &refusal) {
			t.Errorf("--out %s: got %v", out, err)
		}
	}
}
