package subtitles

import (
	"strings"
	"testing"
	"unicode/utf8"

	"pushcue/timeline"
)

// hostile is what a remark may hold.
var hostile = []string{
	`roots at joint`,
	`"quoted" 'single' ` + "`back`",
	`C:\new\table\{x}`,
	`\N \n \h \\ \`,
	`{\an8}top {\pos(0,0)} {\p1}m 0 0 l 9 9 {\p0}`,
	`{x} {} { } \{ \}`,
	`<b>bold</b> <i>it <font color="red">`,
	`a < b > c <00:00:01.000> </c> <v Someone> <`,
	`-->`,
	`-- > --> ---> <-->`,
	"1\n00:00:01,000 --> 00:00:02,000\nnot a cue",
	"00:01.000 --> 00:02.000",
	"line\n\nblank\r\n\r\nline\rend",
	"NOTE this", "STYLE\n::cue { color: red }", "WEBVTT",
	`%{pts} %d %s %% ${HOME} $(id)`,
	`=1+1`, `@cmd`, `+49`, `-1`,
	`;FFMETADATA1 #x [CHAPTER] title=y`,
	`a & b &amp; &lt;b> &nbsp; &#60;`,
	"right \u202e to left \u2066 isolate \u200f mark",
	"bell \a null \x00 escape \x1b[31m delete \x7f",
	"emoji 👩\u200d🔧 🇵🇹 ⚠\ufe0f ✓",
	"no-break 12.4\u00a0m narrow 3\u202fmm",
	"line\u2028para\u2029end\u0085next\vtab\tform\f",
	"\ufeffmark \ufdd0 none \uffff none",
	"not \xff\xfe utf-8",
	"Grundstücksentwässerungsleitungsuntersuchungsprotokoll",
	"管の中に根がある。水が溜まっている場所もある。交換が必要です。",
	"z\u0301\u0302\u0303\u0304\u0305\u0306\u0307 marks",
	strings.Repeat("x", 10_000),
	strings.Repeat("ten letter ", 900),
	strings.Repeat("{<", 50) + strings.Repeat("\\", 50),
}

// hostileLine is a recording in which each of them is a note, with time to read it.
func hostileLine() *timeline.Timeline {
	var all []seen
	at := 1.0
	for _, text := range hostile {
		all = append(all, seen{at: at, kind: "remark", note: text})
		at += 10 + float64(len(text))/10
	}
	return line([]float64{at}, all...)
}

func TestAllOfANoteIsSaidWhereThereIsTime(t *testing.T) {
	said := map[int]string{}
	for _, c := range all(t, hostileLine()) {
		said[c.Observations[0]] += strings.Join(c.Lines, " ") + " "
	}
	letters := func(s string) string { return strings.ReplaceAll(s, " ", "") }
	for i, text := range hostile {
		if got, want := letters(said[i+1]), letters(clean(text)); !strings.HasSuffix(got, want) {
			t.Errorf("%.60q became %.60q", text, got)
		}
	}
}

func TestCleanTextIsOneLineThatActsAsNothing(t *testing.T) {
	for _, text := range hostile {
		got := clean(text)
		if !utf8.ValidString(got) || strings.ContainsAny(got, "\r\n\t\x00\x1b\u202e\u2066\u2028\u2029\u0085\ufdd0\uffff") {
			t.Errorf("%.60q became %.60q", text, got)
		}
		if clean(got) != got {
			t.Errorf("%.60q is not clean at once", text)
		}
	}
	for written, want := range map[string]string{
		"a\u202eb":     "a[U+202E]b",
		"a\x00b":       "a[U+0000]b",
		"a\r\n\r\n b ": "a     b",
		"12.4\u00a0m":  "12.4\u00a0m",
		"e\u0301":      "é",
	} {
		if got := clean(written); got != want {
			t.Errorf("%q became %q, want %q", written, got, want)
		}
	}
}

func TestLettersThatTakeTwoPlacesFillALineSooner(t *testing.T) {
	for _, p := range paginate(pieces(strings.Repeat("管", 100))) {
		for _, s := range p.lines {
			if n := utf8.RuneCountInString(s); n > 21 {
				t.Errorf("%d letters in a line: %s", n, s)
			}
		}
	}
}

func TestMarksStayWithTheirLetter(t *testing.T) {
	for _, p := range pieces(strings.Repeat("x", 41) + "z\u0323\u0332y\u0323") {
		if r, _ := utf8.DecodeRuneInString(p); r == '\u0323' || r == '\u0332' {
			t.Errorf("a line begins with a mark: %q", p)
		}
	}
}
