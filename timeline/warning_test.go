package timeline

import (
	"testing"

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
