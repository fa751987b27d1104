package subtitles

import (
	"bytes"
	"strings"
	"testing"

	"pushcue/timeline/timecode"
)

// Whatever a remark holds, a file of one cue stays a file of one cue, and nothing in
// it can be taken for a mark.
func FuzzSidecarText(f *testing.F) {
	for _, s := range hostile {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if clean(s) == "" {
			return
		}
		cue := []Cue{{To: timecode.VideoSeconds(2), Lines: []string{s, "last"}}}
		for name, write := range map[string]func(*bytes.Buffer) error{
			"srt": func(b *bytes.Buffer) error { return WriteSRT(b, cue) },
			"vtt": func(b *bytes.Buffer) error { return WriteWebVTT(b, cue) },
		} {
			var b bytes.Buffer
			if err := write(&b); err != nil {
				t.Fatal(err)
			}
			text := strings.ReplaceAll(strings.TrimPrefix(b.String(), "\ufeff"), "\r\n", "\n")
			rows := strings.Split(strings.TrimRight(strings.TrimPrefix(text, "WEBVTT\n\n"), "\n"), "\n")
			if len(rows) != 4 || rows[3] != "last" || strings.Count(text, "-->") != 1 || rows[2] == "" {
				t.Fatalf("%s: %q", name, text)
			}
			switch {
			case name == "vtt" && strings.ContainsAny(rows[2], "<>"):
				t.Fatalf("%q holds a mark", rows[2])
			case name == "srt" && (strings.ContainsAny(rows[2], "{}") || bare(rows[2], "<") || bare(rows[2], `\`)):
				t.Fatalf("%q holds a mark", rows[2])
			}
		}
	})
}

// bare tells whether a mark stands without the joiner that keeps it from acting.
func bare(s, mark string) bool {
	return strings.Count(s, mark) != strings.Count(s, mark+joiner)
}

// Any text is cut into pages that keep the rules and lose no letter.
func FuzzPages(f *testing.F) {
	for _, s := range hostile {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		var back strings.Builder
		for _, p := range paginate(pieces(s)) {
			if len(p.lines) > 2 {
				t.Fatalf("%q", p.lines)
			}
			for _, line := range p.lines {
				if n := len([]rune(line)); n == 0 || n > 42 {
					t.Fatalf("%d letters: %q", n, line)
				}
				back.WriteString(line)
			}
		}
		if got, want := strings.ReplaceAll(back.String(), " ", ""), strings.ReplaceAll(clean(s), " ", ""); got != want {
			t.Fatalf("%q became %q", want, got)
		}
	})
}
