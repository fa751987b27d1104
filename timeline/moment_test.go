package timeline

import (
	"strings"
	"testing"
	"time"

	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

func TestExplainMomentTellsWhatIsKnownOfIt(t *testing.T) {
	line := dwelling(t, 30*time.Second, "time=10:00:45.0 & at=4.0 m & what=roots", "what=crack & time=12:00:00.0")
	row := line.Observations[0]
	stand := line.Track.Stands()[0]
	for name, c := range map[string]struct {
		at     timecode.Video
		stands []Stand
		want   []string
		not    string
	}{
		"where a row was placed": {row.Video, nil, []string{
			"The picture at " + row.Video.String() + " is frame ", "The camera was at 4.0 m, give or take 0.1 m by its readings.",
			"The camera stood there from ", "the log's clock showed 10:00:", "The true time is ", "Row 1 says what: roots", "It is observation 1, at " + row.Video.String() + ", at this moment",
		}, "pushed"},
		"while the camera moves": {stand.From.Add(-3 * time.Second), nil, []string{"It was being pushed in.", " after, give or take"}, "stood"},
		"where the pictures stand still": {stand.From.Add(-3 * time.Second), []Stand{{From: 0, To: stand.From}}, []string{
			"The pictures stand still there, from 0:00.0 to " + stand.From.String() + ".",
		}, "pushed"},
	} {
		said, ok := line.ExplainMoment(c.at, c.stands)
		text := words.Join(said, words.Plain("\n")).String()
		for _, want := range c.want {
			if !ok || !strings.Contains(text, want) {
				t.Errorf("%s: no %q in\n%s", name, want, text)
			}
		}
		if strings.Contains(text, c.not) {
			t.Errorf("%s: %q in\n%s", name, c.not, text)
		}
	}
	for _, v := range []timecode.Video{-1, line.Recording.End + 1} {
		if _, ok := line.ExplainMoment(v, nil); ok {
			t.Errorf("%v isn't in the recording", v)
		}
	}
}

func TestExplainMomentClaimsNothingThatIsntKnown(t *testing.T) {
	line := dwelling(t, 30*time.Second, "time=10:00:45.0 & at=4.0 m & what=roots")
	bare := *line
	bare.Track, bare.Clock, bare.civil, bare.Observations = nil, nil, nil, nil
	said, _ := bare.ExplainMoment(0, nil)
	text := words.Join(said, words.Plain("\n")).String()
	for _, want := range []string{"No distance is known", "Nothing ties the log's clock to this moment.", "The true time isn't known.", "No row is placed"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
	for _, never := range []string{"give or take", "stood", "pushed", "pulled"} {
		if strings.Contains(text, never) {
			t.Errorf("%q in\n%s", never, text)
		}
	}
}
