package subtitles

import (
	"bytes"
	"encoding/json"
	"os"
	"strings"
	"testing"

	"pushcue/timeline/timecode"
)

// parsedVTT is what an independent parser (npm webvtt-parser) reads.
type parsedVTT struct {
	Errors []struct {
		Message string
		Line    int
	}
	Cues []struct {
		Start, End float64
		Text       string
	}
}

func parseVTT(t testing.TB, file []byte) parsedVTT {
	t.Helper()
	need(t, "node", "install Node.js")
	if _, err := os.Stat("../testdata/node/node_modules/webvtt-parser"); err != nil {
		if os.Getenv("PUSHCUE_TEST_SHORT") != "" {
			t.Skip("the independent parser isn't installed")
		}
		t.Fatal("the independent parser is missing: run npm ci in testdata/node, as scripts/test does")
	}
	var got parsedVTT
	if err := json.Unmarshal(run(t, file, "node", "../testdata/node/cues.js"), &got); err != nil {
		t.Fatal(err)
	}
	return got
}

// W3C WebVTT: no parse error, the same cues, and every text shown as written.
func TestWebVTTAgainstAnIndependentParser(t *testing.T) {
	cues := all(t, hostileLine())
	var b bytes.Buffer
	if err := WriteWebVTT(&b, cues); err != nil {
		t.Fatal(err)
	}
	got := parseVTT(t, b.Bytes())
	for _, e := range got.Errors {
		t.Errorf("line %d: %s", e.Line, e.Message)
	}
	if len(got.Cues) != len(cues) {
		t.Fatalf("%d cues read, %d written", len(got.Cues), len(cues))
	}
	for i, c := range got.Cues {
		if c.Start != float64(cues[i].From.FrameMillis())/1000 || c.End != float64(cues[i].To.FrameMillis())/1000 {
			t.Errorf("cue %d: %v-%v, want %v-%v", i, c.Start, c.End, cues[i].From, cues[i].To)
		}
		if want := strings.Join(cues[i].Lines, "\n"); c.Text != want {
			t.Errorf("cue %d reads %q, want %q", i, c.Text, want)
		}
	}
}

func TestTheIndependentParserFindsFaults(t *testing.T) {
	got := parseVTT(t, []byte("WEBVTT\n\n1\n00:00:01.000 --> 00:00:02.000\na <b>b\n\n2\n00:00:01.000 -> 00:00:02.000\nx\n"))
	if len(got.Errors) == 0 {
		t.Error("a broken file passes")
	}
}

func TestWebVTTAsWritten(t *testing.T) {
	var b bytes.Buffer
	err := WriteWebVTT(&b, []Cue{{From: timecode.VideoSeconds(1.5), To: timecode.VideoSeconds(3), Lines: []string{"1. roots", "a --> b & <c>"}}})
	want := "WEBVTT\n\n1\n00:00:01.500 --> 00:00:03.000\n1. roots\na --&gt; b &amp; &lt;c&gt;\n"
	if err != nil || b.String() != want {
		t.Errorf("%q %v, want %q", b.String(), err, want)
	}
	b.Reset()
	if err := WriteWebVTT(&b, nil); err != nil || b.String() != "WEBVTT\n" {
		t.Errorf("without a cue: %q %v", b.String(), err)
	}
}
