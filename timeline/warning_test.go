package timeline

import (
	"bytes"
	"encoding/json"
	"os"
	"testing"

	"pushcue/timeline/codes"
	"pushcue/timeline/distance"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

func TestAWarningIsKnownAgainWhateverItIsWordedLike(t *testing.T) {
	before := Warning{Code: "counter-reset", Text: words.Tell("between %s and %s the counter goes from %s", words.Plain("1:02.0"), words.Plain("1:03.0"), words.Quoted("12.4 m"))}
	after := Warning{Code: "counter-reset", Text: words.Tell("the counter jumps between %s and %s, from %s on", words.Plain("1:02.0"), words.Plain("1:03.0"), words.Quoted("12.4 m"))}
	other := Warning{Code: "counter-reset", Text: words.Tell("between %s and %s the counter goes from %s", words.Plain("2:02.0"), words.Plain("2:03.0"), words.Quoted("12.4 m"))}
	if before.Key() != after.Key() {
		t.Error("another wording has another key")
	}
	if before.Key() == other.Key() {
		t.Error("another moment has the same key")
	}
	if (Warning{Code: "clock-weak", Row: 1}).Key() == (Warning{Code: "clock-weak", Row: 2}).Key() {
		t.Error("another row has the same key")
	}
	// What a person has seen before warnings had keys is named by its English words.
	text := before.Text.String()
	if !before.Matches("counter-reset", text) || !after.Matches("counter-reset", text) {
		t.Error("its old words aren't known again")
	}
	if other.Matches("counter-reset", text) || after.Matches("clock-weak", text) {
		t.Error("something else is taken for it")
	}
	plain := Warning{Code: "zone-assumed", Text: words.Tell("times are taken in this computer's time zone")}
	if plain.Matches("zone-assumed", "something else was said") {
		t.Error("a sentence without anything filled in is known by other words")
	}
}

// A person's word on a warning, as the edits file of an earlier version has it, is
// understood: of the same warning, and of no other.
func TestWhatWasSeenInAnEarlierVersionCounts(t *testing.T) {
	text, err := os.ReadFile("../testdata/formats/2026-11/job/edits.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	var noted struct{ What, Code, Text, Key string }
	for line := range bytes.Lines(text) {
		if err := json.Unmarshal(line, &noted); err != nil {
			t.Fatal(err)
		}
		if noted.What == "noted" {
			break
		}
	}
	if noted.What != "noted" || noted.Key != "" {
		t.Fatalf("the file has no such correction: %+v", noted)
	}
	warned := func(at float64) *Warning {
		s := sheetOf(t)
		s.Distance.Resets = []distance.KnownReset{{At: timecode.VideoSeconds(at), Place: 2.8}}
		return warning(resolved(t, Input{Sheet: s, Recording: recordingOf(40), Readings: readingsOf(40, pushOf)}), codes.ResetNotFound)
	}
	if w := warned(6); w == nil || !w.Matches(noted.Code, noted.Text) {
		t.Errorf("%+v isn't known by %q", w, noted.Text)
	}
	if w := warned(7); w == nil || w.Matches(noted.Code, noted.Text) {
		t.Errorf("%+v is taken for %q", w, noted.Text)
	}
}
