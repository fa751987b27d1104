package subtitles

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"pushcue/timeline/timecode"
)

// need fails the test when a program is missing, but in a short run.
func need(t testing.TB, program, hint string) {
	t.Helper()
	if _, err := exec.LookPath(program); err == nil {
		return
	}
	if os.Getenv("PUSHCUE_TEST_SHORT") != "" {
		t.Skip(program + " is missing")
	}
	t.Fatalf("%s is missing: %s", program, hint)
}

func run(t testing.TB, input []byte, program string, args ...string) []byte {
	t.Helper()
	var stdout, stderr bytes.Buffer
	cmd := exec.Command(program, args...)
	cmd.Stdin, cmd.Stdout, cmd.Stderr = bytes.NewReader(input), &stdout, &stderr
	if err := cmd.Run(); err != nil {
		t.Fatalf("%s: %v\n%s", program, err, stderr.String())
	}
	return stdout.Bytes()
}

func writeSRT(t testing.TB, cues []Cue) (text, path string) {
	t.Helper()
	var b bytes.Buffer
	if err := WriteSRT(&b, cues); err != nil {
		t.Fatal(err)
	}
	path = filepath.Join(t.TempDir(), "notes.srt")
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	return b.String(), path
}

func TestSRTIsWrittenAsTheOldestPlayersWantIt(t *testing.T) {
	text, _ := writeSRT(t, []Cue{
		{From: timecode.VideoSeconds(1.9999995), To: timecode.VideoSeconds(3661.5), Lines: []string{"1. roots", "a <b> {c} & d"}},
		{From: timecode.VideoSeconds(3662), To: timecode.VideoSeconds(3662), Lines: []string{"2. crack"}},
	})
	want := "\ufeff1\r\n00:00:01,999 --> 01:01:01,500\r\n1. roots\r\na <\u2060b> ｛c｝ & d\r\n\r\n2\r\n01:01:02,000 --> 01:01:02,001\r\n2. crack\r\n" + strings.Repeat("\r\n", 8)
	if text != want {
		t.Errorf("%q, want\n%q", text, want)
	}
	if short, _ := writeSRT(t, []Cue{{To: timecode.VideoSeconds(1), Lines: []string{"1. roots"}}}); len(short) < 130 || len(strings.TrimRight(short, "\r\n")) > 60 {
		t.Errorf("players take a file of %d bytes for none: %q", len(short), short)
	}
	if text, _ := writeSRT(t, nil); text != "\ufeff" {
		t.Errorf("without a cue: %q", text)
	}
}

// Times and text are read back by ffmpeg's own demuxer.
func TestSRTAgainstFFprobe(t *testing.T) {
	need(t, "ffprobe", "install ffmpeg")
	cues := all(t, hostileLine())
	_, path := writeSRT(t, cues)
	var got struct {
		Packets []struct{ Pts, Duration, Data json.RawMessage }
	}
	out := run(t, nil, "ffprobe", "-v", "error", "-f", "srt", "-show_packets", "-show_data", "-of", "json", "file:"+path)
	if err := json.Unmarshal(out, &got); err != nil {
		t.Fatal(err)
	}
	if len(got.Packets) != len(cues) {
		t.Fatalf("%d cues read, %d written", len(got.Packets), len(cues))
	}
	// What players.md says is put in the place of marks, undone.
	undo := strings.NewReplacer("\uff5b", "{", "\uff5d", "}", "\u2060", "")
	for i, p := range got.Packets {
		if want := fmt.Sprint(cues[i].From.FrameMillis()); string(p.Pts) != want {
			t.Errorf("cue %d starts at %s ms, want %s", i, p.Pts, want)
		}
		if want := fmt.Sprint(cues[i].To.FrameMillis() - cues[i].From.FrameMillis()); string(p.Duration) != want {
			t.Errorf("cue %d lasts %s ms, want %s", i, p.Duration, want)
		}
		text := dumped(t, p.Data)
		if want := strings.Join(cues[i].Lines, "\n"); undo.Replace(text) != want {
			t.Errorf("cue %d reads %q, want %q", i, undo.Replace(text), want)
		}
	}
}

// dumped reads the bytes of a dump like "00000000: 3120 726f  1 ro".
func dumped(t *testing.T, raw json.RawMessage) string {
	var dump string
	if err := json.Unmarshal(raw, &dump); err != nil {
		t.Fatal(err)
	}
	var all []byte
	for _, row := range strings.Split(strings.TrimSpace(dump), "\n") {
		_, rest, _ := strings.Cut(row, ": ")
		digits := strings.ReplaceAll(rest[:min(40, len(rest))], " ", "")
		b, err := hex.DecodeString(digits)
		if err != nil {
			t.Fatalf("%q: %v", row, err)
		}
		all = append(all, b...)
	}
	return string(all)
}

// What ffmpeg's SubRip decoder makes of the text for libass: it must find nothing in
// it that acts.
func TestSRTTextActsAsNothing(t *testing.T) {
	need(t, "ffmpeg", "install ffmpeg")
	cues := all(t, hostileLine())
	_, path := writeSRT(t, cues)
	out := run(t, nil, "ffmpeg", "-nostdin", "-v", "error", "-f", "srt", "-i", "file:"+path, "-f", "ass", "-")
	i := 0
	for _, row := range strings.Split(strings.ReplaceAll(string(out), "\r\n", "\n"), "\n") {
		fields := strings.SplitN(row, ",", 10)
		if !strings.HasPrefix(row, "Dialogue:") || len(fields) < 10 {
			continue
		}
		var safe []string
		for _, s := range cues[i].Lines {
			safe = append(safe, replacers[srt].Replace(s))
		}
		if want := strings.Join(safe, `\N`); fields[9] != want {
			t.Errorf("cue %d decodes to %q, want %q", i, fields[9], want)
		}
		i++
	}
	if i != len(cues) {
		t.Errorf("%d cues decoded, %d written", i, len(cues))
	}
}
