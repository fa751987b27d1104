package handover

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pushcue/internal/handover/edition"
	"pushcue/internal/job"
	"pushcue/internal/shelf"
)

// onDay sets the day on which a further edition begins.
func onDay(t *testing.T, day int) {
	t.Helper()
	today = func() time.Time { return time.Date(2026, 3, day, 12, 0, 0, 0, time.UTC) }
}

// One job goes through what becomes of its handovers: made, made again, corrected, copied.
func TestEditionsOfAHandover(t *testing.T) {
	asItIs := today
	defer func() { today = asItIs }()
	dir := jobOf(t, "[job]\ndate = 2026-03-02\nlanguage = \"en\"\n", "video,what,note\n0:01,roots,fine\n", plain(t))
	small := Options{Only: []string{"page", "report", "log"}}
	made := func(day int) (*Finished, string) {
		t.Helper()
		onDay(t, day)
		out := makeJob(t, dir, small).Out
		f, err := Finish(context.Background(), job.Ask{Path: dir})
		must(t, err)
		page := content(t, filepath.Join(out, pageName))
		if e, ok := edition.InPage([]byte(page)); !ok || e != f.Edition() {
			t.Fatalf("the page bears %+v, the record %+v", e, f.Edition())
		}
		return f, page + content(t, filepath.Join(out, shelf.SumsName)) + content(t, filepath.Join(out, reportName))
	}
	says := func(text, want string) {
		t.Helper()
		if !strings.Contains(text, "<dd><bdi>"+want+"</bdi></dd>") {
			t.Errorf("the page doesn't say %q", want)
		}
	}
	notes := func(note string) {
		overwrite(t, filepath.Join(dir, "log.csv"), "video,what,note\n0:01,roots,"+note+"\n")
	}
	left := func(f *Finished, day int) {
		t.Helper()
		onDay(t, day)
		must(t, f.NoteLeft(job.Ask{Path: dir}, Destination{To: "/media/stick/x", Label: "STICK", Serial: "1A2B"}))
	}

	_, first := made(3)
	says(first, "1, as of 2 Mar 2026")
	if _, again := made(4); again != first {
		t.Error("the same again, on another day, has other bytes")
	}
	notes("thick")
	f, second := made(5)
	says(second, "1, as of 2 Mar 2026") // nobody had the other one
	left(f, 5)
	if _, again := made(6); again != second {
		t.Error("the same again, after it left, has other bytes")
	}
	notes("very thick")
	f, third := made(7)
	says(third, "2, as of 7 Mar 2026, replaces edition 1, handed over on 5 Mar 2026")
	if text := ask(t, "pdftotext", "-layout", filepath.Join(f.Dir, reportName), "-"); !strings.Contains(strings.Join(strings.Fields(text), " "), "2, as of 7 Mar 2026, replaces edition 1, handed over on 5 Mar 2026") {
		t.Error("the report doesn't bear the edition")
	}
	if _, again := made(8); again != third {
		t.Error("the same second edition, on another day, has other bytes")
	}
	left(f, 9)

	v, err := job.Open(context.Background(), job.Ask{Path: dir})
	must(t, err)
	gone := GoneFrom(context.Background(), v)
	if len(gone) != 2 || gone[0].Number != 1 || gone[1].Number != 2 || !gone[1].Ours || gone[1].Label != "STICK" || gone[1].List != shelf.SumOf([]byte(content(t, filepath.Join(f.Dir, shelf.SumsName)))) {
		t.Errorf("%+v", gone)
	}
	// A line that somebody else wrote counts, and is told apart.
	record := filepath.Join(dir, "work", job.OutName+editionsEnding)
	overwrite(t, record, strings.Replace(content(t, record), "STICK", "OTHER", 1))
	if gone := GoneFrom(context.Background(), v); len(gone) != 2 || gone[0].Ours || !gone[1].Ours {
		t.Errorf("%+v", gone)
	}

	// Without our folder, as in a job unpacked from an archive, the page tells.
	must(t, os.RemoveAll(filepath.Join(dir, "work")))
	if _, again := made(10); again != third {
		t.Error("the second edition made again without the record has other bytes")
	}
	if _, again := made(10); again != third {
		t.Error("the second edition made once more after that has other bytes")
	}
	// Made elsewhere, as from an archive's data folder, it is the same edition.
	elsewhere := filepath.Join(t.TempDir(), "there")
	v, err = job.Open(context.Background(), job.Ask{Path: dir, Out: elsewhere})
	must(t, err)
	_, err = Make(context.Background(), realTools(t), v, small, nil)
	must(t, err)
	if content(t, filepath.Join(elsewhere, pageName)) != content(t, filepath.Join(f.Dir, pageName)) {
		t.Error("made elsewhere, the page is another one")
	}
	must(t, os.RemoveAll(filepath.Join(dir, "work")))
	notes("gone")
	_, last := made(11)
	says(last, "3, as of 11 Mar 2026, replaces edition 2")
	if _, again := made(12); again != last {
		t.Error("the third edition made again has other bytes")
	}
}

// What an earlier version made bears no edition. It counts as the first once it has left.
func TestAHandoverOfAnEarlierVersionIsTheFirstEdition(t *testing.T) {
	j := filepath.Join(t.TempDir(), "job")
	overwrite(t, filepath.Join(j, "work", "lock"), "")
	f := finishedOf(t, j, map[string]string{"index.html": "<html>", "timeline.json": "{}"})
	if e := f.Edition(); e != (edition.Edition{Number: 1}) {
		t.Errorf("%+v", e)
	}
	must(t, f.NoteLeft(job.Ask{Path: j}, Destination{To: "/media/stick/x"}))
	if e := edition.Read(f.editions()).Next("aa", "2026-03-02", "2026-03-09"); e.Number != 2 || e.Replaces != 1 || e.Left == "" {
		t.Errorf("%+v", e)
	}
	must(t, os.RemoveAll(filepath.Join(j, "work")))
	must(t, f.NoteLeft(job.Ask{Path: j}, Destination{To: "/media/stick/x"}))
	if _, err := os.Stat(filepath.Join(j, "work")); err == nil {
		t.Error("a work folder was made where there was none")
	}
}
