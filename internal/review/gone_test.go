package review

import (
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pushcue/internal/testfootage"
	"pushcue/timeline/edits"
)

// Somebody moves the folder while it is looked over, and back again.
func TestAFolderThatGoesAwayLosesNothing(t *testing.T) {
	dir := jobFolder(t, demoSheet, demoLog)
	b := serve(t, dir)
	b.ready()
	b.edit(`{"what":"set","row":1,"values":{"note":"typed before"}}`)
	before, err := os.ReadFile(filepath.Join(dir, edits.File))
	if err != nil {
		t.Fatal(err)
	}
	away := dir + " moved"
	if err := os.Rename(dir, away); err != nil {
		t.Fatal(err)
	}
	status, answer := b.post("/api/edit", `{"what":"set","row":1,"values":{"note":"typed into nothing"}}`)
	if status == http.StatusOK || !strings.Contains(string(answer), "text") {
		t.Errorf("a correction of a folder that is gone: %d %s", status, answer)
	}
	if s := b.until("trouble", func(s seen) bool { return s.State == "unusable" }); s.Trouble == nil || s.Trouble.Text == "" || s.Trouble.Hint == "" {
		t.Errorf("%+v", s.Trouble)
	}
	if _, err := os.Stat(dir); err == nil {
		t.Error("the folder was made anew where it had been")
	}
	if err := os.Rename(away, dir); err != nil {
		t.Fatal(err)
	}
	s := b.ready()
	if note := b.observation(s, 1).Note; note == nil || *note != "typed before" {
		t.Errorf("%v", note)
	}
	if after, err := os.ReadFile(filepath.Join(dir, edits.File)); err != nil || string(after) != string(before) {
		t.Errorf("%v: %s", err, after)
	}
	b.edit(`{"what":"set","row":1,"values":{"note":"typed after"}}`)
}

// The card's file is copied again, whole this time, over the one that was there.
func TestARecordingThatChangesIsReadAnew(t *testing.T) {
	dir := jobFolder(t, demoSheet, demoLog)
	b := serve(t, dir)
	if n := b.ready().Film.Frames; n != 85 {
		t.Fatalf("%d frames", n)
	}
	copyFile(t, testfootage.Numbered(t, testfootage.Spec{Frames: 100, GOP: 50}), filepath.Join(dir, "part1.mp4"))
	_, still := b.get("/api/still?frame=80") // was the second part's, and is the first one's now
	s := b.until("the longer one", func(s seen) bool { return s.Film != nil && s.Film.Frames == 125 })
	if _, now := b.get("/api/still?frame=80"); string(now) == string(still) {
		t.Error("the picture shown is still that of the file that was there before")
	}
	if s.State != "ready" {
		t.Errorf("it is %s", s.State)
	}
	if err := os.Remove(filepath.Join(dir, "part1.mp4")); err != nil {
		t.Fatal(err)
	}
	gone := b.until("trouble", func(s seen) bool { return s.State == "unusable" || s.Film != nil && s.Film.Frames == 25 })
	if gone.State == "unusable" && gone.Trouble.Hint == "" {
		t.Errorf("%+v", gone.Trouble)
	}
}

// A drive that isn't there any more ends the copy with a sentence, and the job goes on.
func TestACopyToADriveThatIsGoneSaysSo(t *testing.T) {
	b := serve(t, jobFolder(t, demoSheet, demoLog))
	b.ready()
	if status, answer := b.post("/api/make", `{"only":["log"]}`); status != http.StatusAccepted {
		t.Fatalf("%d %s", status, answer)
	}
	b.until("a handover", func(s seen) bool { return s.Task != nil && s.Task.State == "done" })
	drive := filepath.Join(t.TempDir(), "stick")
	if status, answer := b.post("/api/copy", `{"drive":"`+filepath.ToSlash(drive)+`"}`); status != http.StatusAccepted {
		t.Fatalf("%d %s", status, answer)
	}
	s := b.until("the copy's end", func(s seen) bool { return s.Task.Kind == "copy" && s.Task.State != "running" })
	if s.Task.State != "failed" || s.Task.Error == nil || !strings.Contains(s.Task.Error.Text, "stick") || s.Task.Error.Hint == "" {
		t.Errorf("%+v %+v", s.Task, s.Task.Error)
	}
	b.edit(`{"what":"set","row":1,"values":{"note":"still at work"}}`)
}
