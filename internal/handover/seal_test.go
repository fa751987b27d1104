package handover

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"pushcue/internal/reach"
)

// forgetSeals has the next seal read its key anew, as another start of the program does.
func forgetSeals(t *testing.T) {
	t.Helper()
	sealsGuard.Lock()
	defer sealsGuard.Unlock()
	clear(seals)
}

func TestAKeyIsMadeOnceAndIsThisUsersAlone(t *testing.T) {
	settings := filepath.Join(t.TempDir(), "settings")
	first := sealOf(settings, "").over("a")
	forgetSeals(t)
	if again := sealOf(settings, ""); again.over("a") != first || !again.holds(first, "a") || again.holds(first, "b") {
		t.Error("the next start has another key")
	}
	info, err := os.Stat(filepath.Join(settings, KeyName))
	must(t, err)
	if runtime.GOOS != "windows" && info.Mode().Perm() != 0o600 {
		t.Errorf("its mode is %v", info.Mode())
	}
	// Another computer of the firm that has the same file.
	other := filepath.Join(t.TempDir(), "other")
	overwrite(t, filepath.Join(other, KeyName), content(t, filepath.Join(settings, KeyName)))
	if !sealOf(other, "").holds(first, "a") {
		t.Error("a shared key doesn't count")
	}
	// A key file that both reach is made by whichever is first; without its drive each goes by its own.
	office := t.TempDir()
	shared := filepath.Join(office, "office.key")
	ana := sealOf(settings, shared).over("a")
	if !sealOf(other, shared).holds(ana, "a") || ana == first || content(t, shared) == content(t, filepath.Join(settings, KeyName)) {
		t.Error("the shared file doesn't count")
	}
	away := filepath.Join(office, "away", "office.key")
	if sealOf(settings, away).over("a") != first {
		t.Error("without the shared file another key than the user's own is taken")
	}
	if _, err := os.Stat(filepath.Dir(away)); !os.IsNotExist(err) {
		t.Error("a folder is made where the drive belongs")
	}
	for name, text := range map[string]string{"short": "abcd\n", "no key": "not hexadecimal", "empty": ""} {
		dir := filepath.Join(t.TempDir(), "settings")
		overwrite(t, filepath.Join(dir, KeyName), text)
		if s := sealOf(dir, ""); len(s) != keyBytes || s.holds(first, "a") {
			t.Errorf("%s: %d bytes", name, len(s))
		}
		if content(t, filepath.Join(dir, KeyName)) != text {
			t.Errorf("%s: the file was changed", name)
		}
	}
}

// A stranger says of a changed file that it has the size and the time that it has: it's
// read all the same.
func TestSizeAndTimeSpareNoReadingWithoutASeal(t *testing.T) {
	f := newFolder(t)
	write(t, f, "log.csv", "ours")
	must(t, f.record.compact())
	if !strings.Contains(content(t, f.record.path), `"seal":"`) {
		t.Fatal("our own lines bear no seal")
	}
	if f.again(t).record.files["log.csv"].ModTime == 0 {
		t.Error("our own line isn't believed")
	}
	overwrite(t, f.path("log.csv"), "evil")
	info, err := os.Stat(f.path("log.csv"))
	must(t, err)
	e := f.record.files["log.csv"]
	for _, seal := range []string{"", strings.Repeat("0", 64), f.record.seal.over(e.claim()...)} {
		e.Size, e.ModTime, e.Seal = info.Size(), info.ModTime().UnixNano(), seal
		line, err := json.Marshal(e)
		must(t, err)
		overwrite(t, f.record.path, string(line)+"\n")
		if c, _, err := f.again(t).record.condition(context.Background(), "log.csv"); c != foreign || err != nil {
			t.Errorf("seal %q: condition %d, %v", seal, c, err)
		}
	}
}

func TestASourcesSumIsBelievedWithASealOnly(t *testing.T) {
	work, path := filepath.Join(t.TempDir(), "work"), filepath.Join(t.TempDir(), "push.mp4")
	overwrite(t, path, "the recording")
	src := Source{Path: path, Name: "push.mp4"}
	by, job := sealOf("", ""), &Job{reach: &reach.Reach{Folders: []string{filepath.Dir(path)}}}
	s := readSourceSums(work, by)
	sum, err := s.sum(t.Context(), job, src, func(int) {})
	must(t, err)
	must(t, s.save())
	if !readSourceSums(work, by).knows(src) {
		t.Error("what we kept isn't believed")
	}
	if readSourceSums(work, seal("another key, of another user ...")).knows(src) {
		t.Error("another user's is believed")
	}
	kept := filepath.Join(work, sourcesName)
	overwrite(t, kept, strings.ReplaceAll(content(t, kept), sum, strings.Repeat("0", 64)))
	again := readSourceSums(work, by)
	if again.knows(src) {
		t.Error("a forged sum is believed")
	}
	if got, err := again.sum(t.Context(), job, src, func(int) {}); got != sum || err != nil {
		t.Errorf("%s, %v", got, err)
	}
	for _, text := range []string{"null", "[]", "{", `{"x":null}`} {
		overwrite(t, kept, text)
		if _, err := readSourceSums(work, by).sum(t.Context(), job, src, func(int) {}); err != nil {
			t.Errorf("%s: %v", text, err)
		}
	}
}

// A stranger's reading of the counter is read anew: it tells where the camera was.
func TestAForgedReadingOfTheCounterIsReadAnew(t *testing.T) {
	dir := frozen(t, "job")
	p, _ := placeJob(t, dir, PlaceOptions{})
	want := len(p.seen.Readings(p.Job.Sheet))
	kept := filepath.Join(dir, "work", "counter.json")
	honest := content(t, kept)
	forged := strings.ReplaceAll(honest, `"Value":2.7`, `"Value":7.2`)
	if want == 0 || forged == honest {
		t.Fatalf("%d readings; %s", want, honest)
	}
	overwrite(t, kept, forged)
	again, steps := placeJob(t, dir, PlaceOptions{})
	if len(steps.names) == 0 || len(again.seen.Readings(again.Job.Sheet)) != want {
		t.Errorf("steps %q", steps.names)
	}
	for _, r := range again.seen.Readings(again.Job.Sheet) {
		if r.Shown > 7 {
			t.Errorf("a forged reading counts: %v", r.Shown)
		}
	}
}
