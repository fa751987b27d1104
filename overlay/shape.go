package overlay

import (
	"strings"
	"sync"

	"golang.org/x/text/unicode/norm"
)

// Arabic letters take the form that their neighbours ask for. libass does that by
// itself; for measuring and for stills it is done here, with the letter forms
// that Unicode holds for the purpose (Arabic Presentation Forms-B).

// forms are a letter's shapes: alone, after a letter that joins, before one,
// between two. A letter that never joins the next has the first two only.
type forms [4]rune

const (
	alone = iota
	final
	initial
	medial
)

const (
	lam          = 'ل'
	joinerLetter = '\u200d'
	stretcher    = '\u0640' // joins on both sides and has one shape
)

// letterForms is read off Unicode's own compatibility mappings: the block lists
// each letter's forms in the order alone, final, initial, medial.
var letterForms = sync.OnceValues(func() (letters map[rune]forms, lamAlef map[rune]forms) {
	letters, lamAlef = map[rune]forms{}, map[rune]forms{}
	var last string
	n := 0
	for r := rune(0xfe80); r <= 0xfefc; r++ {
		base := norm.NFKC.String(string(r))
		if base != last {
			last, n = base, 0
		}
		switch b := []rune(base); {
		case len(b) == 1 && n < 4:
			f := letters[b[0]]
			f[n] = r
			letters[b[0]] = f
		case len(b) == 2 && b[0] == lam && n < 2:
			f := lamAlef[b[1]]
			f[n] = r
			lamAlef[b[1]] = f
		}
		n++
	}
	return letters, lamAlef
})

// shape gives Arabic letters their forms and leaves all else alone.
func shape(s string) string {
	if !strings.ContainsFunc(s, isArabic) {
		return s
	}
	letters, lamAlef := letterForms()
	in := []rune(s)
	out := make([]rune, 0, len(in))
	joined := false // the letter before reaches out to this one
	for i := 0; i < len(in); i++ {
		r := in[i]
		f, known := letters[r]
		switch {
		case isMark(r):
			out = append(out, r)
			continue
		case r == joinerLetter || r == stretcher:
			out = append(out, r)
			joined = true
			continue
		case !known:
			out = append(out, r)
			joined = false
			continue
		}
		if r == lam {
			if next, at := nextLetter(in, i+1); lamAlef[next] != (forms{}) {
				out = append(out, pick(lamAlef[next], joined, false))
				out = append(out, in[i+1:at]...)
				i, joined = at, false
				continue
			}
		}
		next, _ := nextLetter(in, i+1)
		reaches := f[initial] != 0 && takes(letters, next)
		out = append(out, pick(f, joined, reaches))
		joined = f[initial] != 0
	}
	return string(out)
}

func pick(f forms, before, after bool) rune {
	at := alone
	switch {
	case before && after:
		at = medial
	case before:
		at = final
	case after:
		at = initial
	}
	if f[at] == 0 {
		return f[alone]
	}
	return f[at]
}

// takes reports whether a letter joins the one before it.
func takes(letters map[rune]forms, r rune) bool {
	return r == joinerLetter || r == stretcher || letters[r][final] != 0
}

// nextLetter is the next character that isn't a mark on a letter, and where.
func nextLetter(in []rune, from int) (rune, int) {
	for i := from; i < len(in); i++ {
		if !isMark(in[i]) {
			return in[i], i
		}
	}
	return 0, len(in)
}

func isArabic(r rune) bool { return r >= 0x0600 && r <= 0x06ff }
