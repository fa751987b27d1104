package overlay

import (
	"slices"

	"golang.org/x/text/unicode/bidi"
)

// Drawn is one line of text as it is drawn from left to right: what runs from right to
// left is turned round, and Arabic letters have the forms that join them.
func Drawn(line string) string { return visual(shape(line)) }

// visual puts one line of text into the order it is drawn in, from left to right,
// by the Unicode bidirectional algorithm (Unicode Standard Annex 9) for a line
// that runs left to right as a whole. Characters that embed or override a
// direction don't occur: clean has named them. Brackets aren't paired (rule N0),
// since libass doesn't pair them either as ffmpeg runs it: stills and video agree.
func visual(s string) string {
	letters := lettersOf(s)
	if !slices.ContainsFunc(letters, func(l letter) bool { return l.class == bidi.R || l.class == bidi.AL || l.class == bidi.AN }) {
		return s
	}
	resolveNumbers(letters)
	resolveNeutrals(letters)
	return drawn(letters)
}

// A letter is a character with the marks on it, which go where it goes.
type letter struct {
	runes []rune
	class bidi.Class
	level int
}

func lettersOf(s string) []letter {
	var ls []letter
	for _, r := range s {
		p, _ := bidi.LookupRune(r)
		if p.Class() == bidi.NSM && len(ls) > 0 { // W1
			ls[len(ls)-1].runes = append(ls[len(ls)-1].runes, r)
			continue
		}
		ls = append(ls, letter{runes: []rune{r}, class: p.Class()})
	}
	return ls
}

// resolveNumbers applies rules W2 to W7.
func resolveNumbers(ls []letter) {
	strong := bidi.L
	for i := range ls { // W2, W3
		switch ls[i].class {
		case bidi.L, bidi.R, bidi.AL:
			strong = ls[i].class
		case bidi.EN:
			if strong == bidi.AL {
				ls[i].class = bidi.AN
			}
		}
		if ls[i].class == bidi.AL {
			ls[i].class = bidi.R
		}
	}
	for i := 1; i+1 < len(ls); i++ { // W4
		before, after := ls[i-1].class, ls[i+1].class
		number := before == after && (before == bidi.EN || before == bidi.AN)
		if number && (ls[i].class == bidi.CS || ls[i].class == bidi.ES && before == bidi.EN) {
			ls[i].class = before
		}
	}
	forRuns(ls, func(c bidi.Class) bool { return c == bidi.ET }, func(from, to int) { // W5
		if from > 0 && ls[from-1].class == bidi.EN || to < len(ls) && ls[to].class == bidi.EN {
			fill(ls[from:to], bidi.EN)
		}
	})
	strong = bidi.L
	for i := range ls { // W6, W7
		switch ls[i].class {
		case bidi.L, bidi.R:
			strong = ls[i].class
		case bidi.ES, bidi.ET, bidi.CS:
			ls[i].class = bidi.ON
		case bidi.EN:
			if strong == bidi.L {
				ls[i].class = bidi.L
			}
		}
	}
}

// resolveNeutrals applies rules N1 and N2, and I1 for the levels.
func resolveNeutrals(ls []letter) {
	side := func(i int) bidi.Class {
		switch {
		case i < 0 || i >= len(ls) || ls[i].class == bidi.L:
			return bidi.L
		}
		return bidi.R // numbers count as R
	}
	neutral := func(c bidi.Class) bool { return c != bidi.L && c != bidi.R && c != bidi.EN && c != bidi.AN }
	forRuns(ls, neutral, func(from, to int) {
		if side(from-1) == bidi.R && side(to) == bidi.R {
			fill(ls[from:to], bidi.R)
		} else {
			fill(ls[from:to], bidi.L)
		}
	})
	for i := range ls {
		switch ls[i].class {
		case bidi.R:
			ls[i].level = 1
		case bidi.EN, bidi.AN:
			ls[i].level = 2
		}
	}
}

// drawn applies rules L2 and L4: runs are turned round, the deepest first, and
// brackets in them change sides.
func drawn(ls []letter) string {
	for level := 2; level >= 1; level-- {
		for from := 0; from < len(ls); from++ {
			to := from
			for to < len(ls) && ls[to].level >= level {
				to++
			}
			slices.Reverse(ls[from:to])
			from = max(from, to)
		}
	}
	var out []rune
	for _, l := range ls {
		if m, ok := mirrored[l.runes[0]]; ok && l.level == 1 {
			l.runes[0] = m
		}
		out = append(out, l.runes...)
	}
	return string(out)
}

// mirrored are the pairs that change sides in text from right to left.
var mirrored = map[rune]rune{
	'(': ')', ')': '(', '[': ']', ']': '[', '{': '}', '}': '{', '<': '>', '>': '<', '«': '»', '»': '«', '‹': '›', '›': '‹',
}

// forRuns calls do for each run of letters whose class is wanted.
func forRuns(ls []letter, wanted func(bidi.Class) bool, do func(from, to int)) {
	for from := 0; from < len(ls); from++ {
		to := from
		for to < len(ls) && wanted(ls[to].class) {
			to++
		}
		if to > from {
			do(from, to)
			from = to
		}
	}
}

func fill(ls []letter, c bidi.Class) {
	for i := range ls {
		ls[i].class = c
	}
}
