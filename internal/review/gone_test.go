package review

import (
	"encoding/json"
	"image"
	"image/jpeg"
	"io"
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
	if s := b.until("trouble", func(s state) bool { return s.State == "unusable" }); s.Trouble == nil || s.Trouble.Text == "" || s.Trouble.Hint == "" {
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

// The card's file is copied again, whole this time, over the one that was there. It is
// AVI, which is read whole at once: of others the end may be read later, new or not.
func TestARecordingThatChangesIsReadAnew(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "77-A")
	recording := filepath.Join(dir, "part1.avi")
	film := func(frames, first int) {
		t.Helper()
		_ = os.Remove(recording)
		testfootage.Link(t, testfootage.Spec{Frames: frames, First: first, Width: 160, Height: 120, Container: "avi", Codec: "mjpeg"}, recording)
	}
	film(25, 60)
	write(t, filepath.Join(dir, "job.toml"), demoSheet)
	write(t, filepath.Join(dir, "log.csv"), demoLog)
	b := serve(t, dir)
	showing := func(frames int) func(state) bool {
		return func(s state) bool {
			return s.State == "ready" && s.Film.Frames == frames && s.Film.Parts[0].StandIn.State == "ready"
		}
	}
	before := b.until("the recording", showing(25))
	_, still := b.get("/api/still?frame=20")
	film(40, 100)
	s := b.until("the longer one", showing(40))
	if s.Film.ID == before.Film.ID {
		t.Error("pages aren't told that it is another one")
	}
	_, now := b.get("/api/still?frame=20")
	if n := numberOn(t, now); n != 120 || string(now) == string(still) {
		t.Errorf("frame 20 shows %d, which was frame 80", n)
	}
	path := filepath.Join(t.TempDir(), "stand-in.mp4")
	_, standIn := b.get("/media/proxy/0")
	write(t, path, string(standIn))
	tools, err := findTools(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	if numbers, _ := look(t, tools, path); len(numbers) != 40 || numbers[0] != 100 {
		t.Errorf("the stand-in shows frames %v, want 100 to 139", numbers)
	}
	if err := os.Remove(recording); err != nil {
		t.Fatal(err)
	}
	s = b.until("a word about it", func(s state) bool { return s.State != "ready" })
	if s.Trouble == nil && len(s.Asked) == 0 {
		t.Errorf("it is %s, and nothing says why", s.State)
	}
	film(25, 60) // it is put back
	b.until("the recording that came back", showing(25))
}

// What a browser keeps is asked for anew: under the same address the next job has other
// pictures, and so has a recording that was copied again.
func TestABrowserShowsNothingKeptOfAnotherJob(t *testing.T) {
	folder := t.TempDir()
	for name, film := range map[string]int{"one": 60, "two": 100} {
		testfootage.Link(t, testfootage.Spec{Frames: 25, First: film, Width: 160, Height: 120, Container: "avi", Codec: "mjpeg"}, filepath.Join(folder, name, "part1.avi"))
		if err := os.Mkdir(filepath.Join(folder, name, "photos"), 0o755); err != nil {
			t.Fatal(err)
		}
		photo, err := os.Create(filepath.Join(folder, name, "photos", "1.jpg"))
		if err != nil {
			t.Fatal(err)
		}
		if err := jpeg.Encode(photo, image.NewGray(image.Rect(0, 0, film, 40)), nil); err != nil {
			t.Fatal(err)
		}
		if err := photo.Close(); err != nil {
			t.Fatal(err)
		}
	}
	b := serve(t, filepath.Join(folder, "one"))
	b.ready()
	addresses := []string{"/api/still?frame=3", "/media/part/0", "/media/photo/photos/1.jpg"}
	tags, bodies := map[string]string{}, map[string]string{}
	ask := func(address string) (status int, body, tag string) {
		t.Helper()
		r, err := http.NewRequest(http.MethodGet, b.server.origin()+address, nil)
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("If-None-Match", tags[address])
		answer, err := b.client.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		defer answer.Body.Close()
		text, err := io.ReadAll(answer.Body)
		if err != nil {
			t.Fatal(err)
		}
		if how := answer.Header.Get("Cache-Control"); how != "private, no-cache" {
			t.Errorf("%s may be kept by %q", address, how)
		}
		return answer.StatusCode, string(text), answer.Header.Get("ETag")
	}
	for _, address := range addresses {
		status, body, tag := ask(address)
		if status != http.StatusOK || tag == "" {
			t.Fatalf("%s: %d %q", address, status, tag)
		}
		tags[address], bodies[address] = tag, body
		if status, _, _ := ask(address); status != http.StatusNotModified {
			t.Errorf("%s: what the browser has already is answered %d", address, status)
		}
	}
	if status, text := b.post("/api/choose", string(must(json.Marshal(map[string]string{"folder": filepath.Join(folder, "two")})))); status != http.StatusOK {
		t.Fatalf("%d %s", status, text)
	}
	b.ready()
	for _, address := range addresses {
		if status, body, _ := ask(address); status != http.StatusOK || body == bodies[address] {
			t.Errorf("%s of the next job is answered %d, and is the same: %v", address, status, body == bodies[address])
		}
	}
	if _, body, _ := ask(addresses[0]); numberOn(t, []byte(body)) != 103 {
		t.Error("the still is of the job before")
	}
}

// A drive that isn't there any more ends the copy with a sentence, and the job goes on.
func TestACopyToADriveThatIsGoneSaysSo(t *testing.T) {
	b := serve(t, jobFolder(t, demoSheet, demoLog))
	b.ready()
	if status, answer := b.post("/api/make", `{"only":["log"]}`); status != http.StatusAccepted {
		t.Fatalf("%d %s", status, answer)
	}
	b.until("a handover", func(s state) bool { return s.Task != nil && s.Task.State == "done" })
	drive := filepath.Join(t.TempDir(), "stick")
	b.lookedAt("")
	if status, answer := b.post("/api/copy", `{"drive":"`+filepath.ToSlash(drive)+`"}`); status != http.StatusAccepted {
		t.Fatalf("%d %s", status, answer)
	}
	s := b.until("the copy's end", func(s state) bool { return s.Task.Kind == "copy" && s.Task.State != "running" })
	if s.Task.State != "failed" || s.Task.Error == nil || !strings.Contains(s.Task.Error.Text, "stick") || s.Task.Error.Hint == "" {
		t.Errorf("%+v %+v", s.Task, s.Task.Error)
	}
	b.edit(`{"what":"set","row":1,"values":{"note":"still at work"}}`)
}
