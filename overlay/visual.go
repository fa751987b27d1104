package overlay

import (
	"slices"

	"golang.org/x/text/unicode/bidi"
)

// visual puts text into the order it is drawn in, from left to right, in a line
// that runs left to right as a whole (Unicode Standard Annex 9).
func visual(s string) string {
	var p bidi.Paragraph
	if _, err := p.SetString(s, bidi.DefaultDirection(bidi.LeftToRight)); err != nil {
		return s
	}
	order, err := p.Order()
	if err != nil {
		return s
	}
	out := make([]rune, 0, len(s))
	for i := range order.NumRuns() {
		run := order.Run(i)
		if run.Direction() == bidi.RightToLeft {
			out = append(out, turned(run.String())...)
		} else {
			out = append(out, []rune(run.String())...)
		}
	}
	return string(out)
}

// mirrored are the pairs that change sides in text from right to left.
var mirrored = map[rune]rune{
	'(': ')', ')': '(', '[': ']', ']': '[', '{': '}', '}': '{', '<': '>', '>': '<', '«': '»', '»': '«', '‹': '›', '›': '‹',
}

// turned is a run from right to left as it is drawn. Marks stay behind the letter
// they belong to.
func turned(s string) []rune {
	rs := []rune(s)
	for i, r := range rs {
		if m, ok := mirrored[r]; ok {
			rs[i] = m
		}
	}
	slices.Reverse(rs)
	for from := 0; from < len(rs); from++ {
		to := from
		for to < len(rs)-1 && isMark(rs[to]) {
			to++
		}
		slices.Reverse(rs[from : to+1])
		from = to
	}
	return rs
}
