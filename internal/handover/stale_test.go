package handover

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pushcue/internal/job"
	"pushcue/internal/safefile"
	"pushcue/timeline/words"
)

// finishedJob is a job folder whose handover is finished as far as Stale looks at it.
func finishedJob(t *testing.T) (dir string, finish func()) {
	t.Helper()
	dir = t.TempDir()
	files := map[string]string{
		"part1.mp4": "pictures", "log.csv": "distance,what\n1.5 m,roots\n", "photos/gate.jpg": "a picture",
		"job.toml": "[job]\nreference = \"2291-B\"\nzone = \"Europe/Lisbon\"\n",
	}
	for name, text := range files {
		path := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		change(t, path, text)
	}
	return dir, func() {
		t.Helper()
		v, err := job.Open(t.Context(), job.Ask{Path: dir, ToAsk: true})
		if err != nil {
			t.Fatal(err)
		}
		g, err := openGround(v)
		if err != nil {
			t.Fatal(err)
		}
		defer g.close()
		if _, err := writeSums(map[string]string{}, g); err != nil {
			t.Fatal(err)
		}
		if err := keepInputs(v, g.work); err != nil {
			t.Fatal(err)
		}
	}
}

func change(t *testing.T, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func stale(t *testing.T, dir string) string {
	t.Helper()
	all, err := Stale(t.Context(), job.Ask{Path: dir})
	if err != nil {
		t.Fatal(err)
	}
	return words.Join(all, words.Comma).String()
}

func TestWhatChangedSinceMakeIsNamed(t *testing.T) {
	edit := `{"id":"a1","time":"2026-03-02T12:00:00Z","author":"R.","what":"set","row":1,"values":{"note":"thick"}}` + "\n"
	seen := `{"id":"a2","time":"2026-03-02T12:00:00Z","author":"R.","what":"noted","code":"zone-assumed","text":"seen"}` + "\n"
	for _, c := range []struct{ file, text, want string }{
		{"log.csv", "distance,what\n1.5 m,crack\n", "the log"},
		{"job.toml", "[job]\nreference = \"2291-C\"\nzone = \"Europe/Lisbon\"\n", "the job sheet"},
		{"job.toml", "[job]\nreference = \"2291-B\"\nzone = \"Europe/Madrid\"\n", "the job sheet"},
		{"job.toml", "# the same\n[job]\nzone = \"Europe/Lisbon\"\nreference = \"2291-B\"\n", ""},
		{"edits.jsonl", edit, "the corrections"},
		{"edits.jsonl", seen, ""},
		{"part1.mp4", "more pictures", "the recording"},
		{"photos/wall.jpg", "another picture", "the photos"},
		{"readme.txt", "nothing of ours", ""},
	} {
		dir, finish := finishedJob(t)
		finish()
		if got := stale(t, dir); got != "" {
			t.Fatalf("just made: %q", got)
		}
		change(t, filepath.Join(dir, filepath.FromSlash(c.file)), c.text)
		if got := stale(t, dir); got != c.want {
			t.Errorf("%s changed: %q, want %q", c.file, got, c.want)
		}
		finish()
		if got := stale(t, dir); got != "" {
			t.Errorf("%s changed, made again: %q", c.file, got)
		}
	}
}

func TestWithoutANoteOfTheInputsTheirTimesTell(t *testing.T) {
	dir, finish := finishedJob(t)
	finish()
	work, err := safefile.MakeWithin(filepath.Join(dir, job.WorkName), filepath.Join(dir, job.WorkName), nil)
	if err != nil {
		t.Fatal(err)
	}
	defer work.Close()
	if err := work.Remove(job.OutName + inputsEnding); err != nil {
		t.Fatal(err)
	}
	if got := stale(t, dir); got != "" {
		t.Errorf("nothing changed: %q", got)
	}
	later := time.Now().Add(time.Hour)
	if err := os.Chtimes(filepath.Join(dir, "log.csv"), later, later); err != nil {
		t.Fatal(err)
	}
	if got := stale(t, dir); !strings.Contains(got, "the log") {
		t.Errorf("a newer log: %q", got)
	}
}

// A handover can be copied when its recording lies elsewhere by now.
func TestAHandoverWithoutItsRecordingIsNotCalledOutOfDate(t *testing.T) {
	dir, finish := finishedJob(t)
	finish()
	if err := os.Remove(filepath.Join(dir, "part1.mp4")); err != nil {
		t.Fatal(err)
	}
	if got := stale(t, dir); got != "" {
		t.Errorf("%q", got)
	}
}
