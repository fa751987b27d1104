package handover

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"pushcue/internal/job"
	"pushcue/internal/placing"
	"pushcue/internal/reach"
	"pushcue/internal/seal"
	"pushcue/internal/shelf"
)

// forgetSeals has the next seal read its key anew, as another start of the program does.
func forgetSeals(t *testing.T) {
	t.Helper()
	seal.SealsGuard.Lock()
	defer seal.SealsGuard.Unlock()
	clear(seal.Seals)
}

func TestAKeyIsMadeOnceAndIsThisUsersAlone(t *testing.T) {
	settings := filepath.Join(t.TempDir(), "settings")
	first := seal.Of(settings, "").Over("a")
	forgetSeals(t)
	if again := seal.Of(settings, ""); again.Over("a") != first || !again.Holds(first, "a") || again.Holds(first, "b") {
		t.Error("the next start has another key")
	}
	info, err := os.Stat(filepath.Join(settings, seal.KeyName))
	must(t, err)
	if runtime.GOOS != "windows" && info.Mode().Perm() != 0o600 {
		t.Errorf("its mode is %v", info.Mode())
	}
	// Another computer of the firm that has the same file.
	other := filepath.Join(t.TempDir(), "other")
	overwrite(t, filepath.Join(other, seal.KeyName), content(t, filepath.Join(settings, seal.KeyName)))
	if !seal.Of(other, "").Holds(first, "a") {
		t.Error("a shared key doesn't count")
	}
	// A key file that both reach is made by whichever is first; without its drive each goes by its own.
	office := t.TempDir()
	shared := filepath.Join(office, "office.key")
	ana := seal.Of(settings, shared).Over("a")
	if !seal.Of(other, shared).Holds(ana, "a") || ana == first || content(t, shared) == content(t, filepath.Join(settings, seal.KeyName)) {
		t.Error("the shared file doesn't count")
	}
	away := filepath.Join(office, "away", "office.key")
	if seal.Of(settings, away).Over("a") != first {
		t.Error("without the shared file another key than the user's own is taken")
	}
	if _, err := os.Stat(filepath.Dir(away)); !os.IsNotExist(err) {
		t.Error("a folder is made where the drive belongs")
	}
	for name, text := range map[string]string{"short": "abcd\n", "no key": "not hexadecimal", "empty": ""} {
		dir := filepath.Join(t.TempDir(), "settings")
		overwrite(t, filepath.Join(dir, seal.KeyName), text)
		if s := seal.Of(dir, ""); len(s) != seal.KeyBytes || s.Holds(first, "a") {
			t.Errorf("%s: %d bytes", name, len(s))
		}
		if content(t, filepath.Join(dir, seal.KeyName)) != text {
			t.Errorf("%s: the file was changed", name)
		}
	}
}

// A stranger says of a changed file that it has the size and the time that it has: it's
// read all the same.
func TestSizeAndTimeSpareNoReadingWithoutASeal(t *testing.T) {
	f := New(t)
	write(t, f, "log.csv", "ours")
	must(t, f.Record.Compact())
	if !strings.Contains(content(t, f.Record.Path), `"seal":"`) {
		t.Fatal("our own lines bear no seal")
	}
	if again(f, t).Record.Files["log.csv"].ModTime == 0 {
		t.Error("our own line isn't believed")
	}
	overwrite(t, f.Path("log.csv"), "evil")
	info, err := os.Stat(f.Path("log.csv"))
	must(t, err)
	e := f.Record.Files["log.csv"]
	for _, seal := range []string{"", strings.Repeat("0", 64), f.Record.Seal.Over(e.Claim()...)} {
		e.Size, e.ModTime, e.Seal = info.Size(), info.ModTime().UnixNano(), seal
		line, err := json.Marshal(e)
		must(t, err)
		overwrite(t, f.Record.Path, string(line)+"\n")
		if c, _, err := again(f, t).Record.Condition(context.Background(), "log.csv"); c != shelf.Foreign || err != nil {
			t.Errorf("seal %q: condition %d, %v", seal, c, err)
		}
	}
}

func TestASourcesSumIsBelievedWithASealOnly(t *testing.T) {
	work, path := filepath.Join(t.TempDir(), "work"), filepath.Join(t.TempDir(), "push.mp4")
	overwrite(t, path, "the recording")
	src := job.Source{Path: path, Name: "push.mp4"}
	by, j := seal.Of("", ""), &job.Job{Reach: &reach.Reach{Folders: []string{filepath.Dir(path)}}}
	s := job.ReadSums(work, by)
	sum, err := s.Sum(t.Context(), j, src, func(int) {})
	must(t, err)
	must(t, s.Save())
	if !job.ReadSums(work, by).Knows(src) {
		t.Error("what we kept isn't believed")
	}
	if job.ReadSums(work, seal.Seal("another key, of another user ...")).Knows(src) {
		t.Error("another user's is believed")
	}
	kept := filepath.Join(work, job.SourcesName)
	overwrite(t, kept, strings.ReplaceAll(content(t, kept), sum, strings.Repeat("0", 64)))
	again := job.ReadSums(work, by)
	if again.Knows(src) {
		t.Error("a forged sum is believed")
	}
	if got, err := again.Sum(t.Context(), j, src, func(int) {}); got != sum || err != nil {
		t.Errorf("%s, %v", got, err)
	}
	for _, text := range []string{"null", "[]", "{", `{"x":null}`} {
		overwrite(t, kept, text)
		if _, err := job.ReadSums(work, by).Sum(t.Context(), j, src, func(int) {}); err != nil {
			t.Errorf("%s: %v", text, err)
		}
	}
}

// A stranger's reading of the counter is read anew: it tells where the camera was.
func TestAForgedReadingOfTheCounterIsReadAnew(t *testing.T) {
	dir := frozen(t, "job")
	p, _ := placeJob(t, dir, placing.PlaceOptions{})
	want := len(p.Seen.Readings(p.Job.Sheet))
	kept := filepath.Join(dir, "work", "counter.json")
	honest := content(t, kept)
	forged := strings.ReplaceAll(honest, `"Value":2.7`, `"Value":7.2`)
	if want == 0 || forged == honest {
		t.Fatalf("%d readings; %s", want, honest)
	}
	overwrite(t, kept, forged)
	again, steps := placeJob(t, dir, placing.PlaceOptions{})
	if len(steps.names) == 0 || len(again.Seen.Readings(again.Job.Sheet)) != want {
		t.Errorf("steps %q", steps.names)
	}
	for _, r := range again.Seen.Readings(again.Job.Sheet) {
		if r.Shown > 7 {
			t.Errorf("a forged reading counts: %v", r.Shown)
		}
	}
}
