package main

import (
	"strings"
	"testing"

	"pushcue/timeline"
	"pushcue/timeline/codes"
	"pushcue/timeline/words"
)

func TestLongLinesAreFoldedBetweenWords(t *testing.T) {
	for text, want := range map[string]string{
		"open: one two three":                 "open: one two\n      three",
		"      a hint that goes on":           "      a hint\n      that goes\n      on",
		"note: averylongwordthatfits nowhere": "note:\n      averylongwordthatfits\n      nowhere",
		"short":                               "short",
		"":                                    "",
		"日本語 日本語 日":                           "日本語 日本語\n      日",
	} {
		if got := fold(text, 15); got != want {
			t.Errorf("%q: %q", text, got)
		}
	}
}

func TestWhatIsSaidOfManyRowsIsSaidOnce(t *testing.T) {
	var ws []timeline.Warning
	for row := 2; row < 9; row++ {
		ws = append(ws, timeline.Warning{Row: row, Code: codes.SeveralPasses, Text: timeline.AboutRow(row, words.Tell("too long"))})
	}
	ws = append(ws, timeline.Warning{Code: codes.VideoUnusable, Row: 4, Text: timeline.AboutRow(4, words.Tell("too long"))}, timeline.Warning{Text: words.Tell("the zone was assumed")})
	var b strings.Builder
	sayWarnings(&b, ws)
	if want := "open: row 4: too long\nnote: rows 2, 3, 4 and 4 more: too long\nnote: the zone was assumed\n"; b.String() != want {
		t.Errorf("%q", b.String())
	}
	b.Reset()
	sayWarnings(&b, ws[:4])
	if strings.Count(b.String(), "\n") != 4 {
		t.Errorf("%q", b.String())
	}
}
