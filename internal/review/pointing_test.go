package review

import (
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"path/filepath"
	"strings"
	"testing"

	"pushcue/internal/testfootage"
)

// inAndOut says that the camera went in from 1 m to 3 m in two seconds, stood there until
// 4 s, and came out again to 2 m at 5 s.
const (
	inAndOut   = "video;distance\n0:00;1.0 m\n0:00.5;1.5 m\n0:01;2.0 m\n0:01.5;2.5 m\n0:02;3.0 m\n0:02.5;3.0 m\n0:03;3.0 m\n0:03.5;3.0 m\n0:04;3.0 m\n0:04.5;2.5 m\n0:05;2.0 m\n"
	byReadings = "[job]\nreference = \"77-A\"\nzone = \"Europe/Lisbon\"\n[counter]\nlook = \"off\"\n[distance]\nreadings = \"counter.csv\"\n"
)

// counted is a job without a log, whose readings of the counter are known.
func counted(t *testing.T) *browser {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "77-A")
	testfootage.Link(t, testfootage.Spec{Frames: 130, Width: 160, Height: 120}, filepath.Join(dir, "part1.mp4"))
	write(t, filepath.Join(dir, "job.toml"), byReadings)
	write(t, filepath.Join(dir, "counter.csv"), inAndOut)
	b := serve(t, dir)
	b.ready()
	return b
}

// asks sends a correction that the page must be asked about, and returns the question.
func (b *browser) asks(body string) complaint {
	b.t.Helper()
	status, text := b.post("/api/edit", body)
	var told struct{ Error complaint }
	if err := json.Unmarshal(text, &told); err != nil || status != http.StatusUnprocessableEntity || len(told.Error.Ways) == 0 {
		b.t.Fatalf("%s: nothing is asked: %d %s", body, status, text)
	}
	return told.Error
}

// answers takes one of the answers to a question.
func (b *browser) answers(c complaint, label string) (s state) {
	b.t.Helper()
	for _, way := range c.Ways {
		if !strings.Contains(way.Label, label) {
			continue
		}
		for _, edit := range way.Edits {
			body, err := json.Marshal(edit)
			if err != nil {
				b.t.Fatal(err)
			}
			s = b.edit(string(body))
		}
		return s
	}
	b.t.Fatalf("no answer says %q: %+v", label, c.Ways)
	return s
}

func TestATypedDistanceGoesToWhereTheCounterShowsIt(t *testing.T) {
	b := counted(t)
	for _, c := range []struct {
		distance string
		frame    int
		at       float64
		basis    string
	}{
		{"3.0 m", 12, 3, "distance"}, // the picture is at 1.5 m; the camera stood at 3 m once
		{"1.5", 12, 0.48, "person"},
		{"", 12, 0.48, "person"},
	} {
		values := `"what":"roots"`
		if c.distance != "" {
			values += `,"distance":"` + c.distance + `"`
		}
		s := b.edit(fmt.Sprintf(`{"what":"add","frame":%d,"values":{%s}}`, c.frame, values))
		found := false
		for _, o := range s.Timeline.Observations {
			if o.Added == nil || *o.Added != s.Added {
				continue
			}
			found = true
			if math.Abs(o.Video-c.at) > 0.3 || o.Basis != c.basis {
				t.Errorf("%q typed at frame %d stands at %v s by %v, want %v s by %s", c.distance, c.frame, o.Video, o.Basis, c.at, c.basis)
			}
		}
		if !found {
			t.Errorf("%q: nothing was added", c.distance)
		}
	}
	if s := b.job(); warns(s, "distance-disagrees") {
		t.Errorf("%+v", s.Warnings)
	}

	// One that fits several pictures, or none, is asked.
	before := len(b.job().Edits)
	twice := b.asks(`{"what":"add","frame":75,"values":{"what":"roots","distance":"2.2 m"}}`)
	if len(twice.Ways) != 3 || !strings.Contains(twice.Hint, "2 times") {
		t.Fatalf("%+v", twice)
	}
	if n := len(b.job().Edits); n != before {
		t.Errorf("%d corrections are written before the answer, want %d", n, before)
	}
	s := b.answers(twice, "0:04.")
	if o := b.observation(s, 4); math.Abs(o.Video-4.8) > 0.1 {
		t.Errorf("the second passing was chosen, and it stands at %v s", o.Video)
	}

	never := b.asks(`{"what":"add","frame":10,"values":{"what":"crack","distance":"12 m"}}`)
	if len(never.Ways) != 1 {
		t.Errorf("%+v", never)
	}
	s = b.answers(never, "In the picture")
	if o := b.observation(s, 5); math.Abs(o.Video-0.4) > 0.01 || *o.Distance != 12 {
		t.Errorf("kept for its picture, it stands at %v s", o.Video)
	}
	warned(t, s, "distance-disagrees") // and it's said that the two don't go together

	// A distance that is typed later, for an observation that a person has pointed at.
	s = b.edit(`{"what":"add","frame":50,"values":{"what":"hole"}}`)
	later := b.asks(fmt.Sprintf(`{"what":"set","on":%q,"values":{"distance":"1.2 m"}}`, s.Added))
	s = b.answers(later, "At 0:00.")
	moved := false
	for _, o := range s.Timeline.Observations {
		moved = moved || o.Added != nil && math.Abs(o.Video-0.2) < 0.1 && *o.Distance == 1.2
	}
	if !moved {
		t.Errorf("%+v", s.Timeline.Observations)
	}
}
